import type { LineStateName } from '../line/feature-value.js'
import type { FeatureSpec } from '../line/features/feature-catalogue.js'

/** A stop this long may have been work on the line, recorded or not. */
const STOP_MS_MIN = 15 * 60_000
/** A run-in lasts 1-2 h [CP, ASM]; the windows that show it end a little later. */
const RUN_IN_MS = 2.5 * 3_600_000
/** An onset is estimated a few windows off: one that seems to lie so shortly before the stop may lie after it. */
const BEFORE_STOP_MS = 45 * 60_000
/** Over a stop this long much may have been done: what was seen before it must be seen again. */
const LONG_STOP_MS = 2 * 3_600_000
/** Stops remembered: a chart's word counts for three days. */
const STOPS_MAX = 40

/** A stop after which what is seen may be a run-in, in ms UTC. Plain JSON. */
export interface LineStop {
  readonly fromMs: number
  readonly untilMs: number
}

export interface StopLog {
  /** When the present stop began; 0 while the line runs. */
  sinceMs: number
  readonly stops: LineStop[]
}

export function createStopLog(): StopLog {
  return { sinceMs: 0, stops: [] }
}

/** Notes what the line does: a stand by day, or a night or weekend in which somebody may have cleaned and lubricated. */
export function noteState(log: StopLog, timeMs: number, state: LineStateName): void {
  const stopped = state === 'idle' || state === 'maintenance' || state === 'off'
  if (stopped && log.sinceMs === 0) log.sinceMs = timeMs
  // Heating up belongs to the stop: the boards that show a run-in come after it.
  if (stopped || state === 'warm-up' || log.sinceMs === 0) return
  if (timeMs - log.sinceMs >= STOP_MS_MIN) log.stops.push({ fromMs: log.sinceMs, untilMs: timeMs })
  if (log.stops.length > STOPS_MAX) log.stops.splice(0, log.stops.length - STOPS_MAX)
  log.sinceMs = 0
}

/**
 * Whether a run-in can show in a feature: fresh lubricant, moved sensors and skimmed metal are seen in steady production.
 * The level is not: nobody lowers it by working on the line, and waiting for it costs most. Nor are the room and the house's
 * exhaust, which explain what the zones do meanwhile.
 */
export function showsRunIn(spec: FeatureSpec): boolean {
  return spec.states.length === 1 && spec.states[0] === 'production' && spec.mechanism !== 'pot-level' && !/^(?:exhaust|ambient)\./.test(spec.feature)
}

/** When the last long stop ended; 0 before any. */
export function lastLongStopMs({ stops }: StopLog): number {
  return stops.findLast(({ fromMs, untilMs }) => untilMs - fromMs >= LONG_STOP_MS)?.untilMs ?? 0
}

/** Until when values of a change that began at `onsetMs` may be no more than a run-in; 0 where they are not. */
export function runInUntilMs({ stops }: StopLog, onsetMs: number): number {
  const stop = stops.findLast(({ fromMs, untilMs }) => onsetMs >= fromMs - BEFORE_STOP_MS && onsetMs < untilMs + RUN_IN_MS)
  return stop === undefined ? 0 : stop.untilMs + RUN_IN_MS
}
