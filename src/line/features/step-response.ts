import type { TrackState } from './channel-track.js'
import { setpointOf, temperatureOf } from './preheat-specs.js'
import type { Collector, LiveContext } from './slot.js'

/** One set-point step of a zone. Plain JSON. */
export interface StepState {
  /** Mean of about the last half minute. */
  smoothC: number
  lastMs: number
  setpoint: number
  /** Since when that set-point stands; 0 before any. */
  setpointMs: number
  /** Begin of the step that is followed; 0 while none is. */
  startMs: number
  startC: number
  stepC: number
  crossedMs: number
  peakC: number
}

/** Smaller steps drown in noise, larger ones drive the heater to its stop and time its power, not the sensor [ASM]. */
const STEP_C_MIN = 4
const STEP_C_MAX = 15
const FOLLOWED_MS = 900_000
const STEADY_MS = 600_000
const STEADY_C = 2.5
const SMOOTH_S = 8
/** 1 - 1/e (definition of a time constant). */
const SHARE = 1 - Math.exp(-1)

export function createStepState(): StepState {
  return { smoothC: 0, lastMs: 0, setpoint: 0, setpointMs: 0, startMs: 0, startC: 0, stepC: 0, crossedMs: 0, peakC: 0 }
}

/** Response time and overshoot at the set-point steps of one zone. */
export function createStepResponse(zone: number, temperature: TrackState, live: LiveContext, state: StepState): Collector {
  return {
    channels: [temperatureOf(zone), setpointOf(zone)],
    take(index, timeMs, value, give) {
      if (index === 1) {
        takeSetpoint(state, timeMs, value)
        return
      }
      const before = state.smoothC
      const intervalS = (timeMs - state.lastMs) / 1000
      if (state.lastMs === 0 || intervalS > 10 * temperature.periodS) state.smoothC = value
      else state.smoothC += (value - state.smoothC) * Math.min(1, intervalS / SMOOTH_S)
      const lastMs = state.lastMs
      state.lastMs = timeMs
      if (state.startMs === 0) return
      if (live.state === 'off' || live.state === 'warm-up' || live.state === 'maintenance' || intervalS > 60) {
        state.startMs = 0
        return
      }
      follow(state, lastMs, before)
      if (timeMs - state.startMs < FOLLOWED_MS) return
      if (state.crossedMs > 0) {
        give(`preheat.zone-${zone}.step-response`, timeMs, (state.crossedMs - state.startMs) / 1000, 1)
        give(`preheat.zone-${zone}.step-overshoot`, timeMs, Math.max(0, (state.peakC - state.stepC) / state.stepC), 1)
      }
      state.startMs = 0
    },
    endSlot() {
      // a step has its own length
    },
  }
}

function takeSetpoint(state: StepState, timeMs: number, value: number): void {
  const stepC = value - state.setpoint
  if (state.setpointMs > 0 && Math.abs(stepC) < 1e-6) return
  const steady = state.setpointMs > 0 && timeMs - state.setpointMs >= STEADY_MS && Math.abs(state.smoothC - state.setpoint) <= STEADY_C
  const usable = steady && Math.abs(stepC) >= STEP_C_MIN && Math.abs(stepC) <= STEP_C_MAX
  state.startMs = usable ? timeMs : 0
  state.startC = state.smoothC
  state.stepC = value - state.smoothC
  state.crossedMs = 0
  state.peakC = 0
  state.setpoint = value
  state.setpointMs = timeMs
}

/** Progress is measured along the step, so that steps down read like steps up. */
function follow(state: StepState, lastMs: number, before: number): void {
  const direction = Math.sign(state.stepC)
  const progress = (state.smoothC - state.startC) * direction
  const progressBefore = (before - state.startC) * direction
  const target = SHARE * Math.abs(state.stepC)
  if (state.crossedMs === 0 && progress >= target && progress > progressBefore) {
    state.crossedMs = lastMs + (state.lastMs - lastMs) * Math.max(0, (target - progressBefore) / (progress - progressBefore))
  }
  if (Math.abs(progress) > Math.abs(state.peakC)) state.peakC = progress * direction
}
