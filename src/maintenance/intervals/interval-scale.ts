import { weibullPosterior } from '../../spc/weibull-posterior.js'
import { cycleLife } from './finding-growth.js'
import type { IntervalCycle } from './interval-verdict.js'
import type { IntervalScale } from './interval-fact.js'
import type { StartInterval } from './start-intervals.js'
import { USUAL_BOARDS_PER_HOUR, USUAL_CALENDAR_PER_HOUR, USUAL_FLUX_G_PER_HOUR } from './usual-intervals.js'
import type { Use } from './use-clock.js'

/** A look as it is kept: at what use since the last cleaning. */
export interface UseLook {
  readonly at: Use
  readonly finding?: number
  readonly sign?: boolean
}

export interface UseCycle {
  readonly at: Use
  readonly looks: readonly UseLook[]
}

/** Cycles that bound the life before scales are compared, and by how much the better one must be steadier. [ASM] */
const COMPARED_MIN = 5
/** Cycles before an interval is told in another unit than it began. [ASM] */
const CYCLES_MIN = 3
const LEAD = 1.15
/** Running hours before the line's own rates are used. */
const RATE_HOURS_MIN = 8
/** … and those before the calendar is set beside them: about a week with its nights and its end. */
const CALENDAR_HOURS_MIN = 80

export function usedOn(use: Use, scale: IntervalScale): number {
  switch (scale) {
    case 'boards':
      return use.boards
    case 'flux-g':
      return use.fluxG
    case 'calendar-hours':
      return use.calendarHours ?? 0
    case 'running-hours':
      return use.hours
  }
}

/** Units of the scale in one running hour: the line's own, or that of the reference line at first. */
export function perRunningHour(total: Use, scale: IntervalScale): number {
  if (scale === 'running-hours') return 1
  const own = usedOn(total, scale) / total.hours
  if (total.hours >= (scale === 'calendar-hours' ? CALENDAR_HOURS_MIN : RATE_HOURS_MIN) && own > 0) return own
  return scale === 'boards' ? USUAL_BOARDS_PER_HOUR : scale === 'flux-g' ? USUAL_FLUX_G_PER_HOUR : USUAL_CALENDAR_PER_HOUR
}

/** The starting interval of a job on a scale. */
export function startOn({ start }: Pick<StartInterval, 'start'>, scale: IntervalScale, total: Use): number {
  return scale === start.scale ? start.amount : (start.amount * perRunningHour(total, scale)) / perRunningHour(total, start.scale)
}

export function onScale(cycle: UseCycle, scale: IntervalScale): IntervalCycle {
  return {
    age: usedOn(cycle.at, scale),
    looks: cycle.looks.map(({ at, finding, sign }) => ({ age: usedOn(at, scale), ...(finding === undefined ? {} : { finding }), ...(sign === undefined ? {} : { sign }) })),
  }
}

/**
 * The scale on which the ages of being due differ least from cycle to cycle. Until a few cycles are recorded the interval
 * is told as the trade or the site tells it. From then on what gathers with the flux goes by the flux, or by boards,
 * where these are counted, unless the site has set another; what wears goes by running hours. What ages while the line
 * stands, e.g. what dries or rusts, shows itself as steadier by the calendar.
 */
export function bestScale({ grows, start, own }: Pick<StartInterval, 'grows' | 'start' | 'own'>, cycles: readonly UseCycle[], total: Use, present: IntervalScale | undefined): IntervalScale {
  const scales = (['flux-g', 'boards', 'running-hours', 'calendar-hours'] as const).filter((scale) => scale === 'running-hours' || (usedOn(total, scale) > 0 && cycles.every(({ at }) => usedOn(at, scale) > 0)))
  const told: IntervalScale = scales.includes(start.scale) ? start.scale : 'running-hours'
  if (cycles.length < CYCLES_MIN) return told
  const usual: IntervalScale = own ? told : grows === 'use' ? 'running-hours' : scales[0]!
  const held = cycles.length === CYCLES_MIN || present === undefined || !scales.includes(present) ? usual : present
  const shapes = scales.map((scale) => ({ scale, shape: shapeOn(cycles, scale) }))
  if (shapes.some(({ shape }) => shape === undefined)) return held
  const shapeOf = (scale: IntervalScale): number => shapes.find((one) => one.scale === scale)!.shape!
  const best = scales.reduce((first, scale) => (shapeOf(scale) > shapeOf(first) ? scale : first))
  return shapeOf(best) > LEAD * shapeOf(held) ? best : held
}

function shapeOn(cycles: readonly UseCycle[], scale: IntervalScale): number | undefined {
  const lives = cycles.flatMap((cycle) => {
    const { age, looks } = onScale(cycle, scale)
    return cycleLife(looks, age) ?? []
  })
  if (lives.filter(({ upper }) => upper !== undefined).length < COMPARED_MIN) return undefined
  const posterior = weibullPosterior(lives)
  return posterior.kind === 'weibull-posterior' ? posterior.best.shape : undefined
}
