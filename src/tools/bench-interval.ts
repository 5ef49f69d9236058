import { depositAt } from '../maintenance/intervals/finding-growth.js'
import { judgeHistory, type IntervalCycle } from '../maintenance/intervals/interval-verdict.js'
import { RandomStream } from '../simulator/random-stream.js'

/**
 * How much a learned interval costs beside the best one that could be known, and beside a fixed calendar, on sites whose
 * deposit rates differ fivefold. A part is due when its deposit reaches finding 3; being found due costs ten times a
 * planned cleaning. People look at it at
 * every day's round and at the cleaning, and rate what they see with some error; a part found due is a confirmed sign.
 */
const COSTS = { planned: 1, failure: 10 }
const START_HOURS = 160
/** Hours to finding 3 at the usual rate: 139 h to half severity [ASM]. */
const USUAL_DUE_HOURS = 139 * depositAt(0.625)
const RATES = [0.45, 0.67, 1, 1.5, 2.24]
const CYCLES = 10
/** A round looks at the part once a day of two shifts. */
const ROUND_HOURS = 16
const SITES = 60
/** Standard deviation of the severity as a person sees it. [ASM] */
const RATING_SD = 0.06

type Lives = (random: RandomStream) => number

/** How the time to due varies from cycle to cycle, about a mean of 1. */
const COURSES: readonly { readonly name: string; readonly draw: Lives }[] = [
  { name: 'deposits, factor 1.3 between cycles', draw: (random) => random.logNormal(1.3) },
  { name: 'Weibull, shape 2.5', draw: (random) => (-Math.log(1 - random.next())) ** (1 / 2.5) / 0.887 },
  { name: 'Weibull, shape 1.5 (hardly any wear: at most one in ten found due costs more than it saves)', draw: (random) => (-Math.log(1 - random.next())) ** (1 / 1.5) / 0.903 },
]

/** Long-run cost per hour at an interval, from drawn lives. */
function costRate(lives: readonly number[], interval: number): number {
  let cost = 0
  let hours = 0
  for (const life of lives) {
    cost += life <= interval ? COSTS.failure : COSTS.planned
    hours += Math.min(life, interval)
  }
  return cost / hours
}

function bestRate(lives: readonly number[]): number {
  const mean = lives.reduce((sum, life) => sum + life, 0) / lives.length
  let best = Infinity
  for (let share = 0.05; share < 3; share *= 1.02) best = Math.min(best, costRate(lives, share * mean))
  return best
}

function findingAt(severity: number, random: RandomStream): number {
  return Math.min(4, Math.max(0, Math.round(4 * (severity + RATING_SD * random.gaussian()))))
}

function severityAt(age: number, dueAge: number): number {
  return 1 - Math.exp(-Math.LN2 * ((age / dueAge) * depositAt(0.625)) ** 1.5)
}

/** One site over ten cycles, cleaned by the advice as it stands. @returns the interval it has learned */
export function learnedInterval(dueHours: number, draw: Lives, random: RandomStream): number {
  const cycles: IntervalCycle[] = []
  let present = START_HOURS
  for (let cycle = 0; cycle < CYCLES; cycle += 1) {
    const due = dueHours * draw(random)
    const age = Math.min(due, present)
    const look = (at: number): { age: number; finding: number } => ({ age: at, finding: findingAt(severityAt(at, due), random) })
    const rounds = Array.from({ length: Math.ceil(age / ROUND_HOURS) - 1 }, (_, i) => look((i + 1) * ROUND_HOURS))
    cycles.push({ age, looks: [...rounds, due <= present ? { age, sign: true } : look(age)] })
    present = judgeHistory({ cycles, startInterval: START_HOURS, present, safety: false, costs: COSTS }).interval
  }
  return present
}

function percentile(sorted: readonly number[], share: number): number {
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? NaN
}

export interface IntervalRow {
  readonly course: string
  readonly rate: number
  readonly sites: number
  readonly interval: number
  readonly meanRatio: number
  readonly p90Ratio: number
  readonly calendarRatio: number
}

export function intervalRows(sites = SITES): IntervalRow[] {
  return COURSES.flatMap(({ name, draw }, course) =>
    RATES.map((rate): IntervalRow => {
      const dueHours = USUAL_DUE_HOURS / rate
      const truth = new RandomStream(1000 + course, `truth ${rate}`)
      const lives = Array.from({ length: 5_000 }, () => dueHours * draw(truth))
      const best = bestRate(lives)
      const intervals = Array.from({ length: sites }, (_, site) => learnedInterval(dueHours, draw, new RandomStream(site, `interval ${course} ${rate}`)))
      const ratios = intervals.map((interval) => costRate(lives, interval) / best).sort((a, b) => a - b)
      return {
        course: name,
        rate,
        sites,
        interval: percentile([...intervals].sort((a, b) => a - b), 0.5),
        meanRatio: ratios.reduce((sum, ratio) => sum + ratio, 0) / ratios.length,
        p90Ratio: percentile(ratios, 0.9),
        calendarRatio: costRate(lives, START_HOURS) / best,
      }
    }),
  )
}

function main(): void {
  process.stdout.write(`Cost after ${CYCLES} cycles beside the best interval (1.00), ${SITES} sites a row, being found due costs ${COSTS.failure} times a planned cleaning\n\n`)
  process.stdout.write('deposit rate   learned h   mean ratio   P90 ratio   fixed calendar\n')
  let course = ''
  for (const row of intervalRows()) {
    if (row.course !== course) process.stdout.write(`${(course = row.course)}\n`)
    process.stdout.write(`${row.rate.toFixed(2).padStart(12)}${row.interval.toFixed(0).padStart(12)}${row.meanRatio.toFixed(3).padStart(13)}${row.p90Ratio.toFixed(3).padStart(12)}${row.calendarRatio.toFixed(3).padStart(17)}\n`)
  }
}

if (process.argv[1]?.endsWith('bench-interval.js') === true) main()
