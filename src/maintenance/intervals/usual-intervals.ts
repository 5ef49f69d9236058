/** How often the trade does a job. */
export interface UsualInterval {
  readonly work: string
  /** Running hours from the shortest to the longest usual interval. */
  readonly usualHours: readonly [number, number]
  /** Running hours to start with. */
  readonly startHours: number
  /** What the job answers to: `deposit` gathers with the flux sprayed, `use` wears with running. */
  readonly grows: 'deposit' | 'use'
  /** In words, as the trade says it. */
  readonly words: string
}

/** Two shifts of 8 h on five days [ASM]: a week is 80 running hours, a month 347. */
const DAY_H = 16
const WEEK_H = 80
const MONTH_H = 347

function start(work: string, from: number, to: number, startHours: number, grows: UsualInterval['grows'], words: string): UsualInterval {
  return { work, usualHours: [from, to], startHours, grows, words }
}

/** Starting intervals: common practice, no source [CP]; hours from two shifts a day [ASM]. Every site learns its own. */
export const START_INTERVALS: readonly UsualInterval[] = [
  start('clean-nozzle', DAY_H, DAY_H, DAY_H, 'deposit', 'daily'),
  start('swap-exhaust-filter', WEEK_H, 4 * WEEK_H, 2 * WEEK_H, 'deposit', 'every 1 to 4 weeks'),
  start('clean-ducts', MONTH_H, 3 * MONTH_H, MONTH_H, 'deposit', 'every 1 to 3 months'),
  start('replace-seals', 3 * MONTH_H, 12 * MONTH_H, 3 * MONTH_H, 'use', 'every 3 to 12 months'),
  start('replace-flux-hose', 6 * MONTH_H, 12 * MONTH_H, 6 * MONTH_H, 'use', 'every 6 to 12 months'),
  start('calibrate-dosing', WEEK_H, WEEK_H, WEEK_H, 'use', 'weekly'),
  start('clean-blower', MONTH_H, 6 * MONTH_H, 2 * MONTH_H, 'deposit', 'every 1 to 6 months'),
  start('clean-emitters', WEEK_H, 4 * WEEK_H, 2 * WEEK_H, 'deposit', 'glass weekly, rods every 1 to 4 weeks'),
  start('clean-vents', MONTH_H, 3 * MONTH_H, 1.5 * MONTH_H, 'deposit', 'every 1 to 3 months'),
  start('clean-thermocouple', MONTH_H, MONTH_H, MONTH_H, 'deposit', 'monthly'),
  start('clean-rails', WEEK_H, 4 * WEEK_H, 2 * WEEK_H, 'deposit', 'every 1 to 4 weeks'),
  start('clean-chain', WEEK_H, 4 * WEEK_H, 2 * WEEK_H, 'deposit', 'in place every 1 to 4 weeks'),
  start('lubricate-chain', WEEK_H, 4 * WEEK_H, 2 * WEEK_H, 'use', 'every 1 to 4 weeks and after every wash'),
  start('clean-fingers', WEEK_H, 4 * WEEK_H, WEEK_H, 'deposit', 'brushed daily, washed every 1 to 4 weeks'),
  start('skim-dross', 4, 8, 8, 'use', 'every 4 to 8 hours'),
  start('strip-pump', MONTH_H, 3 * MONTH_H, 1.5 * MONTH_H, 'use', 'every 1 to 3 months'),
  start('sample-bath', MONTH_H, MONTH_H, MONTH_H, 'use', 'monthly'),
]

/** Hours by the calendar in a running hour, of two shifts on five days. [ASM] */
export const USUAL_CALENDAR_PER_HOUR = 168 / WEEK_H
/** Boards an hour and g of flux a running hour of the reference line, until the line's own are known. [SIM, ASM] */
export const USUAL_BOARDS_PER_HOUR = 120
export const USUAL_FLUX_G_PER_HOUR = 500
/** g/mL of an alcohol-based flux. [ASM] */
export const FLUX_DENSITY = 0.8
