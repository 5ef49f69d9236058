import type { Collector, LiveContext } from './slot.js'

/** One idle spell with the spray valve shut. Plain JSON. */
export interface HoldState {
  isOpen: boolean
  valveMs: number
  /** Begin of the fit, ms UTC; 0 while there is none. */
  startMs: number
  startBar: number
  isDone: boolean
  n: number
  t: number
  tt: number
  y: number
  ty: number
}

export function createHoldState(): HoldState {
  return { isOpen: false, valveMs: 0, startMs: 0, startBar: 0, isDone: false, n: 0, t: 0, tt: 0, y: 0, ty: 0 }
}

/** After the valve shuts the pressure swings for a moment. */
const AFTER_VALVE_MS = 15_000
const FITTED_MS = 300_000
const READINGS_MIN = 8
/** Below this share of the first value the gauge's own error counts. */
const SHARE_MIN = 0.15
const PRESSURE_BAR_MIN = 0.1
/** A time constant outside cannot be told from a few minutes of readings; tight 3600 s, leaking 30 s [ASM, B6]. */
const HOLD_S_MIN = 5
const HOLD_S_MAX = 36_000
const VALVE = 1

/** Time constant with which the pressure falls while the line is idle and the spray off, once per idle spell. */
export function createPressureHold(live: LiveContext, state: HoldState): Collector {
  return {
    channels: ['fluxer.pressure', 'fluxer.spray-on'],
    take(index, timeMs, value, give) {
      if (index === VALVE) {
        const isOpen = value > 0.5
        if (isOpen !== state.isOpen || state.valveMs === 0) {
          state.valveMs = timeMs
          restart(state)
        }
        state.isOpen = isOpen
        return
      }
      if (live.state !== 'idle' || state.isOpen || state.valveMs === 0) {
        restart(state)
        return
      }
      if (state.isDone || timeMs - Math.max(state.valveMs, live.changedMs) < AFTER_VALVE_MS) return
      if (state.startMs === 0) {
        state.startMs = timeMs
        state.startBar = value
      }
      if (state.startBar < PRESSURE_BAR_MIN) return
      const isOver = timeMs - state.startMs >= FITTED_MS || value < SHARE_MIN * state.startBar
      if (!isOver) {
        add(state, (timeMs - state.startMs) / 1000, Math.log(value / state.startBar))
        return
      }
      state.isDone = true
      if (state.n >= READINGS_MIN) give('fluxer.pressure.hold', timeMs, Math.log(holdS(state)), 1)
    },
    endSlot() {
      // an idle spell has its own length
    },
  }
}

function restart(state: HoldState): void {
  state.startMs = 0
  state.isDone = false
  state.n = 0
  state.t = 0
  state.tt = 0
  state.y = 0
  state.ty = 0
}

function add(state: HoldState, t: number, y: number): void {
  state.n += 1
  state.t += t
  state.tt += t * t
  state.y += y
  state.ty += t * y
}

/** P = P0 exp(-t/T): T from the slope of ln P. */
function holdS(state: HoldState): number {
  const { n, t, tt, y, ty } = state
  const slope = (ty - (t * y) / n) / (tt - (t * t) / n)
  return slope >= -1 / HOLD_S_MAX ? HOLD_S_MAX : Math.max(HOLD_S_MIN, -1 / slope)
}
