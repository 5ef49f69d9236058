import { depositAt } from '../maintenance/intervals/finding-growth.js'
import { DUE_SHARE_MAX, judgeHistory, type IntervalCycle } from '../maintenance/intervals/interval-verdict.js'
import { RandomStream } from '../simulator/random-stream.js'
import { predictedAge, predictedCosts, weibullPosterior, type CostPoint } from '../spc/weibull-posterior.js'

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

/** How the time to due varies from cycle to cycle, about a mean of about 1. */
interface Course {
  readonly name: string
  readonly draw: (random: RandomStream) => number
  /** By which factor whole lives are longer than those drawn, for one who knows the course but for that factor. */
  readonly stretch: (lives: readonly number[]) => number
}

function weibull(shape: number, mean: number, name: string): Course {
  return {
    name,
    draw: (random) => (-Math.log(1 - random.next())) ** (1 / shape) / mean,
    stretch: (lives) => (lives.reduce((sum, life) => sum + (life * mean) ** shape, 0) / lives.length) ** (1 / shape),
  }
}

const COURSES: readonly Course[] = [
  { name: 'deposits, factor 1.3 between cycles', draw: (random) => random.logNormal(1.3), stretch: (lives) => Math.exp(lives.reduce((sum, life) => sum + Math.log(life), 0) / lives.length) },
  weibull(2.5, 0.887, 'Weibull, shape 2.5'),
  weibull(1.5, 0.903, 'Weibull, shape 1.5 (weak wear-out)'),
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

/** The interval that costs least; with `dueShareMax`, of those at which no larger share is found due. */
function bestInterval(lives: readonly number[], dueShareMax = 1): number {
  const mean = lives.reduce((sum, life) => sum + life, 0) / lives.length
  const longest = [...lives].sort((a, b) => a - b)[Math.min(lives.length - 1, Math.floor(dueShareMax * lives.length))]!
  let best = { interval: Math.min(mean, longest), rate: Infinity }
  for (let share = 0.02; share < 3; share *= 1.02) {
    const interval = Math.min(longest, share * mean)
    const rate = costRate(lives, interval)
    if (rate < best.rate) best = { interval, rate }
  }
  return best.interval
}

function findingAt(severity: number, random: RandomStream): number {
  return Math.min(4, Math.max(0, Math.round(4 * (severity + RATING_SD * random.gaussian()))))
}

function severityAt(age: number, dueAge: number): number {
  return 1 - Math.exp(-Math.LN2 * ((age / dueAge) * depositAt(0.625)) ** 1.5)
}

/** One site over ten cycles, cleaned by the advice as it stands. @returns the interval it has learned */
function learnedInterval(dueHours: number, { draw }: Course, random: RandomStream): number {
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

/** What the same rules make of ten whole lives, every one known to the hour: what cleaning in time hides is given as well. */
function fromWholeLives(lives: readonly number[]): number {
  const posterior = weibullPosterior(lives.map((life) => ({ lower: life, upper: life })))
  if (posterior.kind !== 'weibull-posterior') throw new Error('interval bench: whole lives always bound the life')
  return Math.min(predictedAge(posterior, DUE_SHARE_MAX), leastCostAge(predictedCosts(posterior, COSTS)))
}

function leastCostAge(curve: readonly CostPoint[]): number {
  return curve.reduce((best, point) => (point.rate < best.rate ? point : best)).age
}

function percentile(sorted: readonly number[], share: number): number {
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? NaN
}

interface Spread {
  readonly mean: number
  readonly p90: number
}

export interface IntervalRow {
  readonly course: string
  readonly rate: number
  readonly sites: number
  /** The median of what is learned. */
  readonly interval: number
  readonly learned: Spread
  /** The least-cost interval at which at most one in ten is found due, of one who knows everything. */
  readonly cautious: number
  /** The same rules on ten whole lives. */
  readonly whole: Spread
  /** Ten whole lives and the course known but for its factor; at most one in ten found due. */
  readonly knownCourse: Spread
  readonly calendar: number
}

function spreadOf(lives: readonly number[], intervals: readonly number[], best: number): Spread {
  const ratios = intervals.map((interval) => costRate(lives, interval) / best).sort((a, b) => a - b)
  return { mean: ratios.reduce((sum, ratio) => sum + ratio, 0) / ratios.length, p90: percentile(ratios, 0.9) }
}

function intervalRow(course: Course, at: number, rate: number, sites: number): IntervalRow {
  const dueHours = USUAL_DUE_HOURS / rate
  const truth = new RandomStream(1000 + at, `truth ${rate}`)
  const lives = Array.from({ length: 5_000 }, () => dueHours * course.draw(truth))
  const best = costRate(lives, bestInterval(lives))
  const cautious = bestInterval(lives, DUE_SHARE_MAX)
  const learned = Array.from({ length: sites }, (_, site) => learnedInterval(dueHours, course, new RandomStream(site, `interval ${at} ${rate}`)))
  const seen = Array.from({ length: sites }, (_, site) => {
    const random = new RandomStream(site, `whole ${at} ${rate}`)
    return Array.from({ length: CYCLES }, () => dueHours * course.draw(random))
  })
  return {
    course: course.name,
    rate,
    sites,
    interval: percentile([...learned].sort((a, b) => a - b), 0.5),
    learned: spreadOf(lives, learned, best),
    cautious: costRate(lives, cautious) / best,
    whole: spreadOf(lives, seen.map(fromWholeLives), best),
    knownCourse: spreadOf(lives, seen.map((whole) => (course.stretch(whole.map((life) => life / dueHours)) * cautious)), best),
    calendar: costRate(lives, START_HOURS) / best,
  }
}

export function intervalRows(sites = SITES): IntervalRow[] {
  return COURSES.flatMap((course, at) => RATES.map((rate) => intervalRow(course, at, rate, sites)))
}

function main(): void {
  process.stdout.write(`Cost after ${CYCLES} cycles beside the best interval (1.00), mean and P90 of ${SITES} sites a row, being found due costs ${COSTS.failure} times a planned cleaning\n`)
  process.stdout.write('one in ten: the best interval at which at most one in ten is found due, known without error\n')
  process.stdout.write('whole lives: the same rules on ten lives seen to their end; known course: these, and all but one factor of the distribution known\n\n')
  process.stdout.write('deposit rate   learned h   learned (P90)   one in ten   whole lives (P90)   known course (P90)   fixed calendar\n')
  let course = ''
  const both = ({ mean, p90 }: Spread): string => `${mean.toFixed(3)} (${p90.toFixed(2)})`
  for (const row of intervalRows()) {
    if (row.course !== course) process.stdout.write(`${(course = row.course)}\n`)
    process.stdout.write(`${row.rate.toFixed(2).padStart(12)}${row.interval.toFixed(0).padStart(12)}${both(row.learned).padStart(16)}${row.cautious.toFixed(3).padStart(13)}${both(row.whole).padStart(20)}${both(row.knownCourse).padStart(21)}${row.calendar.toFixed(3).padStart(17)}\n`)
  }
}

if (process.argv[1]?.endsWith('bench-interval.js') === true) main()
