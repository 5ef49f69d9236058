import { normalCdf } from '../../spc/special-functions.js'
import type { BoundedLife } from '../../spc/weibull-posterior.js'

/** What was seen at an age, in the unit of the scale: a finding, or a sign that people confirmed. */
export interface AgeLook {
  readonly age: number
  /** 0 clean … 4 blocked. */
  readonly finding?: number
  /** A suggestion or signal of this job's faults was confirmed. */
  readonly sign?: boolean
}

/** Finding from which a part is due: it should have been cleaned before. */
export const DUE_FINDING = 3

/**
 * Multiple of the deposit that gives half severity, at a severity s: s = 1 - exp(-ln2 (m/m50)^1.5) turned round. [ASM]
 */
export function depositAt(severity: number): number {
  return (-Math.log2(1 - severity)) ** (2 / 3)
}

/** Findings are quarters of the severity, told apart half way between … [ASM] */
const HALF_STEP = 0.125
/** … by people who see the severity to about so much. [ASM] */
const RATING_SD = 0.08
const DUE_DEPOSIT = depositAt(DUE_FINDING / 4 - HALF_STEP)
/** Nobody sees the due age of one cycle more closely than by a tenth. [ASM] */
const LOG_AGE_SD_MIN = 0.1
/** A confirmed sign comes about when the part is due, a little before or after. [ASM] */
const SIGN_SD = 0.12
/** ln(age of being due) is looked for from the newest age less this to it and more than this. */
const LOG_REACH = [-2, 2.2] as const
const STEPS = 84
/** Where the likelihood has fallen to this share of its height, an age is out. */
const OUT = 0.5

/** ln of the chance of one look, were the part due at the age `exp(logDue)`. */
function logChance({ age, finding, sign }: AgeLook, logDue: number): number {
  if (sign === true) return -0.5 * ((Math.log(age) - logDue) / SIGN_SD) ** 2
  if (finding === undefined) return 0
  const deposit = (age / Math.exp(logDue)) * DUE_DEPOSIT
  const severity = 1 - Math.exp(-Math.LN2 * deposit ** 1.5)
  const upper = finding >= 4 ? 1 : normalCdf((finding / 4 + HALF_STEP - severity) / RATING_SD)
  const lower = finding <= 0 ? 0 : normalCdf((finding / 4 - HALF_STEP - severity) / RATING_SD)
  // one rating in fifty is simply wrong
  return Math.log(0.98 * Math.max(0, upper - lower) + 0.02 / 5)
}

/**
 * Between which ages one cycle was, or will be, due. Deposit gathers in proportion to the scale, so a finding of 2 at
 * some age says about when 3 is reached, and the looks of a cycle say it together; a finding of 0 says only that it is
 * later.
 *
 * @param looks in order of age; a cycle without any finding or sign was in order until its end
 * @param endAge age at which it was cleaned, or now
 */
export function cycleLife(looks: readonly AgeLook[], endAge: number): BoundedLife | undefined {
  const telling = looks.filter(({ age, finding, sign }) => age > 0 && (sign === true || finding !== undefined))
  const newest = telling.at(-1)
  if (newest === undefined) return endAge > 0 ? { lower: endAge } : undefined
  const from = Math.log(newest.age) + LOG_REACH[0]
  const step = (LOG_REACH[1] - LOG_REACH[0]) / STEPS
  const logs = Array.from({ length: STEPS + 1 }, (_, i) => telling.reduce((sum, look) => sum + logChance(look, from + i * step), 0))
  const highest = Math.max(...logs)
  const shares = logs.map((log) => Math.exp(log - highest))
  // Flat to the upper end: not due yet, and nothing says when; flat to the lower end: long overdue.
  if (shares[STEPS]! >= OUT) return { lower: Math.exp(from + step * shares.findIndex((share) => share >= OUT)) }
  if (shares[0]! >= OUT) return { lower: 0, upper: Math.exp(from + step * shares.findLastIndex((share) => share >= OUT)) }
  const total = shares.reduce((sum, share) => sum + share, 0)
  const centre = shares.reduce((sum, share, i) => sum + share * (from + i * step), 0) / total
  const variance = shares.reduce((sum, share, i) => sum + share * (from + i * step - centre) ** 2, 0) / total
  const half = Math.sqrt(3) * Math.max(LOG_AGE_SD_MIN, Math.sqrt(variance))
  return { lower: Math.exp(centre - half), upper: Math.exp(centre + half) }
}

/** Whether a cycle brought an event: found due, or a sign of it confirmed. */
export function isEvent(looks: readonly AgeLook[]): boolean {
  return looks.some(({ finding, sign }) => sign === true || (finding !== undefined && finding >= DUE_FINDING))
}
