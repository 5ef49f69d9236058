import type { Language } from '../catalogue-language.js'
import { ISOLATION_TEXTS } from '../work-catalogue-data-safety.js'
import type { LineDefinition } from '../../line/line-definition.js'
import { siteCatalogue } from '../site-catalogue.js'
import { ISOLATION_STEPS } from '../work-catalogue.js'
import type { PlannedStop } from './week-plan.js'

/** Isolation of a stop: every step that any of its jobs needs, once, in the order in which it is done. */
export function catalogueIsolation(stop: Pick<PlannedStop, 'jobs'>, definition: LineDefinition, language: Language): string[] {
  const catalogue = siteCatalogue(definition)
  return ISOLATION_STEPS.filter((step) => stop.jobs.some(({ item }) => catalogue.item(item.work)?.isolation.includes(step) === true)).map((step) => ISOLATION_TEXTS[step][language])
}
