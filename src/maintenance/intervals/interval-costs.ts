import type { LineDefinition } from '../../line/line-definition.js'
import type { WorkItem } from '../work-catalogue.js'

/** Without the site's figures: what is found too late costs so many times a planned cleaning. [ASM] */
const USUAL_RATIO = 10
/** A cleaning that came too late takes so many times as long, and stops the line meanwhile. [ASM] */
const LATE_FACTOR = 1.5
const RATIO_RANGE = [2, 30] as const

/** Costs of a planned cleaning and of one that came too late, of which only the ratio counts. */
export function intervalCosts(item: WorkItem, { costs }: LineDefinition): { readonly planned: number; readonly failure: number } {
  const labour = costs?.labourPerHour
  const stop = costs?.lineStopPerHour
  if (labour === undefined || stop === undefined || labour <= 0) return { planned: 1, failure: USUAL_RATIO }
  const hours = (item.minutesByHand[0] + item.minutesByHand[1]) / 120
  // Planned work is fitted into stops that are there anyway; late work stops the line.
  const planned = hours * item.people * labour
  const lateHours = item.minutesWhenNeglected === undefined ? LATE_FACTOR * hours : Math.max(LATE_FACTOR * hours, item.minutesWhenNeglected[0] / 60)
  const ratio = (lateHours * (item.people * labour + stop)) / planned
  return { planned: 1, failure: Math.min(RATIO_RANGE[1], Math.max(RATIO_RANGE[0], Number(ratio.toPrecision(3)))) }
}
