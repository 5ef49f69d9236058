/** A sensor that stands still this long while producing is looked at. [ASM] */
const STILL_MS_MIN = 60 * 60_000
/** ... and that stood still never half as long before. [ASM] */
const STILL_SHARE = 0.5
/** Changes of value after which a sensor's own rhythm is known. */
const MOVES_MIN = 200
/** Means of so many minutes tell a step of the level from its ripple. */
const LEVEL_MEAN_MS = 120_000
/** A bar of 5 kg lifts a usual pot by 2.6 mm; ripple and quantising stay below this. [ASM] */
const TOP_UP_MM_MIN = 1.5
const TOP_UP_STEPS = 3

/** Plain JSON. */
export interface SensorWatchState {
  sensors: Record<string, { value: number; sinceMs: number; longestMs: number; moves: number; told: boolean }>
  level: { startMs: number; sum: number; n: number; means: number[]; quietUntilMs: number }
}

export function createSensorWatch(): SensorWatchState {
  return { sensors: {}, level: { startMs: 0, sum: 0, n: 0, means: [], quietUntilMs: 0 } }
}

const WATCHED = /^(preheat\.zone-\d+\.temperature|conveyor\.(speed|current)|pot\.(level|temperature|wave-height)|fluxer\.(flow|pressure)|board\.topside-temperature|exhaust\.pressure)$/

/** Whether a channel is a sensor whose standing still would mean something. */
export function isSensor(channel: string): boolean {
  return WATCHED.test(channel)
}

/** Takes a reading while producing. @returns since when the sensor stands still, ms UTC, once; undefined else */
export function noteSensor(watch: SensorWatchState, channel: string, value: number, timeMs: number): number | undefined {
  const sensor = watch.sensors[channel]
  if (sensor === undefined) {
    watch.sensors[channel] = { value, sinceMs: timeMs, longestMs: 0, moves: 0, told: false }
    return undefined
  }
  if (value !== sensor.value || timeMs < sensor.sinceMs) {
    if (!sensor.told) sensor.longestMs = Math.max(sensor.longestMs, timeMs - sensor.sinceMs)
    sensor.value = value
    sensor.sinceMs = timeMs
    sensor.moves += 1
    sensor.told = false
    return undefined
  }
  const stillMs = timeMs - sensor.sinceMs
  if (sensor.told || stillMs < STILL_MS_MIN || sensor.moves < MOVES_MIN || sensor.longestMs > stillMs * STILL_SHARE) return undefined
  sensor.told = true
  return sensor.sinceMs
}

/** The line's state changed: a sensor may stand still by right in between, and the level steps with the pump. */
export function noteStateOfSensors(watch: SensorWatchState, timeMs: number): void {
  for (const sensor of Object.values(watch.sensors)) if (!sensor.told) sensor.sinceMs = timeMs
  watch.level = { startMs: 0, sum: 0, n: 0, means: [], quietUntilMs: timeMs + 10 * 60_000 }
}

/** Takes a reading of the pot level while producing. @returns the rise of a top-up, mm, at its end; undefined else */
export function noteLevel(watch: SensorWatchState, value: number, timeMs: number): number | undefined {
  const { level } = watch
  if (timeMs < level.quietUntilMs) return undefined
  if (level.startMs === 0 || timeMs < level.startMs || timeMs - level.startMs > 3 * LEVEL_MEAN_MS) {
    level.startMs = timeMs
    level.sum = value
    level.n = 1
    return undefined
  }
  if (timeMs - level.startMs < LEVEL_MEAN_MS) {
    level.sum += value
    level.n += 1
    return undefined
  }
  level.means.push(level.sum / level.n)
  level.startMs = timeMs
  level.sum = value
  level.n = 1
  const before = level.means.at(-1 - TOP_UP_STEPS)
  if (level.means.length > TOP_UP_STEPS + 1) level.means.shift()
  if (before === undefined) return undefined
  const riseMm = level.means.at(-1)! - before
  if (riseMm < TOP_UP_MM_MIN) return undefined
  level.means = []
  return riseMm
}
