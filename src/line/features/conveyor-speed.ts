import { isSlotUsable, showsVariance, slotMean, slotWeight, type TrackState } from './channel-track.js'
import { minutesIntoSlot } from './feature-spec.js'
import { createRunningSpeed, noteSpeed, type RunningSpeed } from './running-speed.js'
import { median } from './minute-block.js'
import { createReference, setpointNow, type SetpointReference } from './setpoint-reference.js'
import { isSettled, SPEED_BLANK_MS, type Collector, type Give, type Slot } from './slot.js'
import { createColdStart, noteColdJump, noteColdMoving, type ColdStart } from './cold-start.js'
import { createJumps, jumpDepth, noteJump, type JumpState } from './speed-jumps.js'
import { addToLine, createSpeedLine, takeLinePower, type LineState } from './speed-line.js'
import { ALIAS_SHARE_MAX, JUMP_PERIOD_S_MAX, type SpeedLine } from './transport-specs.js'
import { addValue, clearMoments, createMoments, lnSd, varianceAboutLine, type TrendMoments } from './trend-moments.js'

export interface SpeedState {
  readonly running: RunningSpeed
  readonly moments: TrendMoments
  /** Speed of the present minute, and the variances of the slot's minutes before it. */
  readonly minute: MinuteSpeed
  readonly jumps: JumpState
  /** The speed's own noise in its first calm slots, as a share; it stays, so that a fault cannot hide its jumps in it. */
  calm?: { n: number; share: number }
  cold?: ColdStart
  readonly lines: Record<string, LineState>
  /** Clean slots each line has seen since it was emptied. */
  readonly lineSlots: Record<string, number>
  readonly reference: SetpointReference
  /** Mean speed of the first slot where no set-point is published, mm/s; 0 before it. */
  firstMeanMmS: number
  lastMs: number
}

interface MinuteSpeed {
  /** Minutes since 1970; 0 before the first reading. */
  minute: number
  n: number
  mean: number
  squares: number
  variances: number[]
}

export function createSpeedState(): SpeedState {
  return { running: createRunningSpeed(), moments: createMoments(), minute: { minute: 0, n: 0, mean: 0, squares: 0, variances: [] }, jumps: createJumps(), lines: {}, lineSlots: {}, reference: createReference(), firstMeanMmS: 0, lastMs: 0 }
}

interface SpeedChannels {
  readonly speed: TrackState
  readonly setpoint: TrackState | undefined
  readonly setpointIsExplicit: boolean
}

/** Repeating movements below a thousandth of the speed are none. [ASM] */
const LINE_SHARE_MIN = 0.001
const STANDING_MM_S = 1
/** Slots from which the speed's own noise is known, and those it is learned from. */
const CALM_SLOTS_MIN = 6
const CALM_SLOTS_MAX = 40
/** Readings further off the running speed than this count as if they stood there. */
const CALM_SHARE = 0.5

/** Readings a minute needs for a variance, and minutes a slot needs for their median; with fewer the whole slot counts. */
const MINUTE_READINGS_MIN = 8
const MINUTES_MIN = 5

function addToMinute(state: MinuteSpeed, timeMs: number, value: number): void {
  const minute = Math.floor(timeMs / 60_000)
  if (minute !== state.minute) {
    closeMinute(state)
    state.minute = minute
  }
  state.n += 1
  const off = value - state.mean
  state.mean += off / state.n
  state.squares += off * (value - state.mean)
}

function closeMinute(state: MinuteSpeed): void {
  if (state.n >= MINUTE_READINGS_MIN) state.variances.push(state.squares / (state.n - 1))
  state.n = state.mean = state.squares = 0
}

function clearMinutes(state: MinuteSpeed): void {
  state.minute = state.n = state.mean = state.squares = 0
  state.variances.length = 0
}

/** Mean, unrest, jumps and repeating movements of the conveyor, all relative to its speed. */
export function createConveyorSpeed(channels: SpeedChannels, lines: readonly SpeedLine[], state: SpeedState): Collector {
  const { speed, setpoint, setpointIsExplicit } = channels
  const cold = (state.cold ??= createColdStart())
  const lineStates = lines.map(({ feature }) => (state.lines[feature] ??= createSpeedLine()))

  return {
    channels: ['conveyor.speed'],

    take(_index, timeMs, value, give) {
      const intervalS = state.lastMs === 0 ? 0 : Math.min((timeMs - state.lastMs) / 1000, 3 * speed.periodS)
      state.lastMs = timeMs
      noteSpeed(state.running, value, intervalS)
      addValue(state.moments, minutesIntoSlot(timeMs), value)
      addToMinute(state.minute, timeMs, value)
      const coldJumps = noteColdMoving(cold, timeMs, value)
      if (coldJumps !== undefined && speed.periodS <= JUMP_PERIOD_S_MAX * 1.1) give('conveyor.speed.cold-jumps', timeMs, coldJumps, 1)
      const running = state.running.mmS
      if (running < STANDING_MM_S) return
      const before = state.jumps.count
      noteJump(state.jumps, timeMs, value, running, speed.periodS, jumpDepth((state.calm?.n ?? 0) >= CALM_SLOTS_MIN ? state.calm!.share : 0))
      if (state.jumps.count > before) noteColdJump(cold)
      // one jump must not stand for a whole wave
      const calm = Math.max((1 - CALM_SHARE) * running, Math.min((1 + CALM_SHARE) * running, value))
      for (let at = 0; at < lines.length; at += 1) {
        addToLine(lineStates[at] as LineState, calm, (running * intervalS) / (lines[at] as SpeedLine).lengthMm)
      }
    },

    endSlot(slot, give) {
      const mean = speed.n > 0 ? slotMean(speed) : 0
      const usable = slot.clean && slot.state === 'production' && isSlotUsable(speed) && mean >= STANDING_MM_S && isSettled(slot, setpoint?.changedMs ?? 0, SPEED_BLANK_MS)
      const powers = endLines(slot, usable, mean, give)
      if (usable) {
        const weight = slotWeight(speed)
        giveOffset(mean, slot, weight, give)
        giveSpread(mean, powers, slot, weight, give)
        if (speed.periodS <= JUMP_PERIOD_S_MAX * 1.1) give('conveyor.speed.jumps', slot.endMs, state.jumps.count, weight)
      }
      clearMoments(state.moments)
      clearMinutes(state.minute)
      state.jumps.count = 0
    },
  }

  function giveOffset(mean: number, slot: Slot, weight: number, give: Give): void {
    const reference = setpointNow(state.reference, setpoint, setpointIsExplicit)
    if (reference === 'waiting') return
    if (reference === 'plain' && state.firstMeanMmS === 0) state.firstMeanMmS = mean
    const target = reference === 'plain' ? state.firstMeanMmS : reference
    if (target > STANDING_MM_S) give('conveyor.speed.offset', slot.endMs, mean / target - 1, weight)
  }

  /** The polygon of the sprocket moves every chain: what the turn and tooth lines hold is not unrest. */
  function giveSpread(mean: number, linePower: number, slot: Slot, weight: number, give: Give): void {
    if (!showsVariance(speed)) return
    closeMinute(state.minute)
    const { variances } = state.minute
    // A jump now and then is counted by itself; unrest is what most minutes show.
    if (variances.length >= MINUTES_MIN) noteCalm(Math.sqrt(median(variances)) / mean)
    const variance = (variances.length >= MINUTES_MIN ? median(variances) : varianceAboutLine(state.moments)) / (mean * mean)
    const value = lnSd(Math.max(variance - linePower / 2, 0.1 * variance), speed.resolution / mean)
    if (value !== undefined) give('conveyor.speed.spread', slot.endMs, value, weight)
  }

  function noteCalm(share: number): void {
    const calm = (state.calm ??= { n: 0, share: 0 })
    if (calm.n >= CALM_SLOTS_MAX) return
    calm.n += 1
    calm.share += (share - calm.share) / calm.n
  }

  /** @returns squared amplitudes of the turn and tooth lines in this slot, as shares of the speed */
  function endLines(slot: Slot, usable: boolean, mean: number, give: Give): number {
    let sprocketPower = 0
    lines.forEach(({ feature, lengthMm, slots, mechanism }, at) => {
      const line = lineStates[at] as LineState
      const aliased = (mean / lengthMm) * speed.periodS > ALIAS_SHARE_MAX
      const seen = usable && !aliased ? (state.lineSlots[feature] ?? 0) + 1 : 0
      state.lineSlots[feature] = seen < slots ? seen : 0
      if (seen > 0 && seen < slots) return
      const taken = takeLinePower(line)
      const power = mean > 0 ? taken.power / (mean * mean) : 0
      if (seen < slots || !(power > 0) || !showsVariance(speed)) return
      // Unrest of all frequencies puts 4 variances / readings into every line on average [white noise]; a line is what stands out of it.
      const unrest = (4 * varianceAboutLine(state.moments)) / (mean * mean * Math.max(1, taken.stretchReadings))
      give(feature, slot.endMs, 0.5 * Math.log(power / (unrest + LINE_SHARE_MIN ** 2)), slotWeight(speed))
      if (mechanism.startsWith('sprocket')) sprocketPower += power
    })
    return sprocketPower
  }
}
