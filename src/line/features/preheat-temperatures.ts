import { isSlotUsable, showsSlowVariance, showsVariance, slotMean, slotWeight, type TrackState } from './channel-track.js'
import { addToFastPart, breakFastPart, createFastPart, endFastSlot, fastVariance, fitFastPart, type FastPart } from './fast-part.js'
import { HOUR_SLOTS } from './feature-spec.js'
import { addToMinute, clearBlock, createMinuteBlock, endBlockSlot, middleOf, minuteSeries, residualVariance, withoutSlowCourse, type MinuteBlock } from './minute-block.js'
import { aboveOwnLevel, createOwnLevel, type OwnLevel } from './own-level.js'
import { temperatureOf } from './preheat-specs.js'
import { createReference, setpointNow, type SetpointReference } from './setpoint-reference.js'
import { isSettled, ZONE_BLANK_MS, type Collector, type Give, type Slot } from './slot.js'
import { lnSd } from './trend-moments.js'

interface ZoneState {
  readonly reference: SetpointReference
  readonly fast: FastPart
  readonly block: MinuteBlock
  readonly fastLevel: OwnLevel
  readonly slowLevel: OwnLevel
  /** The zone's own set-point changed, or its channel failed, in the open block. */
  spoiled: boolean
  lastMs: number
}

export type PreheatState = Record<string, ZoneState>

export interface ZoneChannels {
  readonly zone: number
  readonly temperature: TrackState
  readonly setpoint: TrackState | undefined
  readonly setpointIsExplicit: boolean
  /** The period allows the fast part. */
  readonly hasFast: boolean
}

/** Windows from which a zone's own level is learned: four and eight hours of production. */
const FAST_TRAINING = 24
const SLOW_TRAINING = 8

interface ZoneSlow {
  readonly zone: number
  readonly level: OwnLevel
  readonly lnSd: number | undefined
  readonly residuals: ReadonlyMap<number, number>
  readonly weight: number
}

/** Offset, fast and slow movement of every zone, each zone beside the others, and what all zones do together. */
export function createPreheatTemperatures(zones: readonly ZoneChannels[], state: PreheatState): Collector {
  for (const { zone } of zones) {
    state[String(zone)] ??= { reference: createReference(), fast: createFastPart(), block: createMinuteBlock(HOUR_SLOTS), fastLevel: createOwnLevel(), slowLevel: createOwnLevel(), spoiled: false, lastMs: 0 }
  }
  const states = zones.map(({ zone }) => state[String(zone)] as ZoneState)
  zones.forEach((channels, index) => {
    if (channels.hasFast && states[index]?.fast.half === 0) fitFastPart((states[index] as ZoneState).fast, channels.temperature.periodS)
  })

  return {
    channels: zones.map(({ zone }) => temperatureOf(zone)),

    take(index, timeMs, value) {
      const own = states[index] as ZoneState
      const channels = zones[index] as ZoneChannels
      if (channels.hasFast) {
        if (timeMs - own.lastMs > 2500 * channels.temperature.periodS) breakFastPart(own.fast)
        addToFastPart(own.fast, value)
      }
      addToMinute(own.block, timeMs, value)
      own.lastMs = timeMs
    },

    endSlot(slot, give) {
      const counts = slot.clean && slot.state === 'production' && isSettled(slot, 0, ZONE_BLANK_MS)
      const usable = zones.map(({ temperature, setpoint }) => counts && isSlotUsable(temperature) && isSettled(slot, setpoint?.changedMs ?? 0, ZONE_BLANK_MS))
      giveOffsets(zones, states, usable, slot, give)
      giveFast(zones, states, usable, slot, give)
      giveSlow(zones, states, usable, counts, slot, give)
    },
  }
}

function giveOffsets(zones: readonly ZoneChannels[], states: readonly ZoneState[], usable: readonly boolean[], slot: Slot, give: Give): void {
  zones.forEach(({ zone, temperature, setpoint, setpointIsExplicit }, index) => {
    if (usable[index] !== true) return
    const reference = setpointNow((states[index] as ZoneState).reference, setpoint, setpointIsExplicit)
    if (reference === 'waiting') return
    give(`${temperatureOf(zone)}.offset`, slot.endMs, slotMean(temperature) - (reference === 'plain' ? 0 : reference), slotWeight(temperature))
  })
}

function giveFast(zones: readonly ZoneChannels[], states: readonly ZoneState[], usable: readonly boolean[], slot: Slot, give: Give): void {
  const values = zones.map(({ temperature, hasFast }, index) => {
    const { fast } = states[index] as ZoneState
    if (!hasFast || usable[index] !== true || !showsVariance(temperature) || fast.n * temperature.periodS < 0.5 * (slot.endMs - slot.startMs) / 1000) return undefined
    return lnSd(fastVariance(fast), temperature.resolution)
  })
  const above = values.map((value, index) => (value === undefined ? undefined : aboveOwnLevel((states[index] as ZoneState).fastLevel, value, FAST_TRAINING)))
  zones.forEach(({ zone, temperature }, index) => {
    const value = values[index]
    if (value === undefined) return
    give(`${temperatureOf(zone)}.fast`, slot.endMs, value, slotWeight(temperature))
    // a coated sensor is slow: of two neighbours the livelier one is the measure
    const own = besideOthers(above, index, 'upper')
    if (own !== undefined) give(`${temperatureOf(zone)}.fast-own`, slot.endMs, own, slotWeight(temperature))
  })
  zones.forEach(({ temperature, hasFast }, index) => {
    const { fast } = states[index] as ZoneState
    endFastSlot(fast, usable[index] === true)
    if (hasFast) fitFastPart(fast, steadyPeriod(fast, temperature.periodS))
  })
}

/** What a zone does more than the middle one of the others; undefined where it or all others say nothing. */
function besideOthers(above: readonly (number | undefined)[], index: number, ofTwo: 'lower' | 'upper'): number | undefined {
  const own = above[index]
  const others = above.flatMap((other, at) => (other === undefined || at === index ? [] : [other]))
  return own === undefined || others.length === 0 ? undefined : own - middleOf(others, ofTwo)
}

/**
 * The width follows the period only when it is off by more than a fifth of the one it was fitted to: small wanderings, as one late
 * reading makes, must not start it anew, nor change what counts as fast where the period lies between two widths.
 */
function steadyPeriod(fast: FastPart, periodS: number): number {
  const fitted = fast.half === 0 ? 0 : (fast.fittedS ?? 10 / fast.half)
  return fitted > 0 && Math.abs(periodS / fitted - 1) < 0.2 ? fitted : periodS
}

function giveSlow(zones: readonly ZoneChannels[], states: readonly ZoneState[], usable: readonly boolean[], counts: boolean, slot: Slot, give: Give): void {
  let full = false
  states.forEach((own, index) => {
    if (usable[index] !== true) own.spoiled = true
    if (endBlockSlot(own.block, slot, counts)) full = true
    else if (own.block.slots === 0) own.spoiled = false
  })
  if (!full) return
  const slow = zones.flatMap(({ zone, temperature }, index) => {
    const own = states[index] as ZoneState
    return own.spoiled || !showsSlowVariance(temperature) || holdsStep(minuteSeries(own.block).means) ? [] : [zoneSlow(zone, own, temperature)]
  })
  const above = slow.map(({ level, lnSd: value }) => (value === undefined ? undefined : aboveOwnLevel(level, value, SLOW_TRAINING)))
  slow.forEach(({ zone, lnSd: value, weight }, index) => {
    if (value === undefined) return
    give(`${temperatureOf(zone)}.slow`, slot.endMs, value, weight)
    // ... and swings: of two neighbours the quieter one is the measure
    const own = besideOthers(above, index, 'lower')
    if (own !== undefined) give(`${temperatureOf(zone)}.slow-own`, slot.endMs, own, weight)
  })
  const common = commonMovement(slow)
  if (common !== undefined) give('preheat.common-movement', slot.endMs, common, Math.min(...slow.map(({ weight }) => weight)))
  for (const own of states) {
    clearBlock(own.block, slot.endMs)
    own.spoiled = false
  }
}

/** Parts of a block a step divides, and what it must explain of the block's variance: a swing comes back, a step stays. */
const STEP_PART_MINUTES = 6
const STEP_C_MIN = 2
const STEP_EXPLAINS = 0.75

/** Whether one level of the block gave way to another, as after a set-point edit nobody published. */
export function holdsStep(means: readonly number[]): boolean {
  const n = means.length
  const total = means.reduce((sum, value) => sum + value, 0)
  const mean = total / n
  const squares = means.reduce((sum, value) => sum + (value - mean) ** 2, 0)
  let before = 0
  for (let at = 1; at <= n - STEP_PART_MINUTES; at += 1) {
    before += means[at - 1] ?? 0
    if (at < STEP_PART_MINUTES) continue
    const difference = (total - before) / (n - at) - before / at
    if (Math.abs(difference) >= STEP_C_MIN && difference ** 2 * ((at * (n - at)) / n) >= STEP_EXPLAINS * squares) return true
  }
  return false
}

function zoneSlow(zone: number, { block, slowLevel }: ZoneState, { verdict, resolution }: TrackState): ZoneSlow {
  const series = minuteSeries(block)
  const residuals = withoutSlowCourse(series)
  return {
    zone,
    level: slowLevel,
    // a minute's mean of coarsely rounded readings is itself no finer than they are
    lnSd: lnSd(residualVariance(residuals), verdict === 'quantised' ? resolution : 0),
    residuals: new Map(series.minutes.map((minute, at) => [minute, residuals[at] ?? 0])),
    weight: series.minutes.length / block.sums.length,
  }
}

/**
 * ln sd of the mean over the zones, minute by minute. With three zones or more each is left out in turn and the least
 * movement counts, so that one zone alone cannot look like all.
 */
function commonMovement(slow: readonly ZoneSlow[]): number | undefined {
  if (slow.length < 2) return undefined
  const groups = slow.length === 2 ? [slow] : slow.map((left) => slow.filter((zone) => zone !== left))
  const variances = groups.map((group) => {
    const [first, ...rest] = group as [ZoneSlow, ...ZoneSlow[]]
    const means: number[] = []
    for (const [minute, value] of first.residuals) {
      if (!rest.every((zone) => zone.residuals.has(minute))) continue
      means.push(rest.reduce((sum, zone) => sum + (zone.residuals.get(minute) ?? 0), value) / group.length)
    }
    return residualVariance(means)
  })
  return lnSd(Math.min(...variances), 0)
}
