import type { Language } from '../catalogue-language.js'
import { ISOLATION_TEXTS } from '../work-catalogue-data-safety.js'
import { ISOLATION_STEPS, workItem } from '../work-catalogue.js'
import type { PlannedStop } from './week-plan.js'

/** Isolation of a stop: every step that any of its jobs needs, once, in the order in which it is done. */
export function catalogueIsolation(stop: Pick<PlannedStop, 'jobs'>, language: Language): string[] {
  return ISOLATION_STEPS.filter((step) => stop.jobs.some(({ item }) => workItem(item.work).isolation.includes(step))).map((step) => ISOLATION_TEXTS[step][language])
}
