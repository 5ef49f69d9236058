import { showsVariance, type TrackState } from './channel-track.js'
import { doseAtUsualSpeed, isSameSpeed, type RecipeDoses } from './dose-at-speed.js'
import { minutesIntoSlot, SLOT_S } from './feature-spec.js'
import type { Collector, Give, LiveContext, Slot } from './slot.js'
import { addValue, clearMoments, createMoments, lnSd, meanOf, readingCount, varianceAboutLine, type TrendMoments } from './trend-moments.js'

export interface SprayState {
  /** When the valve opened and shut last, ms UTC; 0 before any. */
  openMs: number
  shutMs: number
  /** Highest flow lately, to tell spraying where no valve signal is published. */
  topFlow: number
  /** A reading waits for the next one: only then is it known whether the valve had already shut. */
  flowHeldMs: number
  flowHeld: number
  pressureHeldMs: number
  pressureHeld: number
  readonly flow: TrendMoments
  readonly pressure: TrendMoments
  /** Flux sprayed in the open block, mL, with its boards and slots. */
  sprayedML: number
  boards: number
  slots: number
  flowMs: number
  /** Doses of each recipe at its speed; absent in a state kept from before they were, whose charts know the doses as they are. */
  doses?: RecipeDoses
  /** Speed of the open block; absent before its first slot and where none is known. */
  blockSpeed?: number
}

export function createSprayState(): SprayState {
  return { openMs: 0, shutMs: 0, topFlow: 0, flowHeldMs: 0, flowHeld: 0, pressureHeldMs: 0, pressureHeld: 0, flow: createMoments(), pressure: createMoments(), sprayedML: 0, boards: 0, slots: 0, flowMs: 0, doses: {} }
}

export interface SprayChannels {
  readonly flow: TrackState | undefined
  readonly pressure: TrackState | undefined
  readonly valve: TrackState | undefined
}

/** The flow settles in 0.2-1 s after the valve moves [ASM, A1]. */
const EDGE_MS = 1000
/** Without a valve signal: spraying is a flow above this share of the highest. */
const OPEN_SHARE = 0.4
const TOP_FLOW_DECAY = 1e-5
/** Spraying takes a part of the time only: so many readings in a slot make a value. */
const READINGS_MIN = 20
const PER_BOARD_SLOTS = 3
const BOARDS_MIN = 10
const FLOW = 0
const PRESSURE = 1
const VALVE = 2

/** Flow and pressure while the valve is open, and flux per board. */
export function createSprayBursts(channels: SprayChannels, state: SprayState, live: LiveContext): Collector {
  const { flow, pressure, valve } = channels
  const hasValve = (): boolean => valve !== undefined && valve.lastMs > 0
  /** Channels of one moment come in any order, so a reading is judged only when the next one is there. */
  const wasSpraying = (timeMs: number): boolean =>
    state.openMs > 0 && timeMs >= state.openMs + EDGE_MS && (state.shutMs < state.openMs || timeMs < state.shutMs)
  const releaseFlow = (): void => {
    if (state.flowHeldMs > 0 && wasSpraying(state.flowHeldMs)) addValue(state.flow, minutesIntoSlot(state.flowHeldMs), state.flowHeld)
    state.flowHeldMs = 0
  }
  const releasePressure = (): void => {
    if (state.pressureHeldMs > 0 && wasSpraying(state.pressureHeldMs)) addValue(state.pressure, minutesIntoSlot(state.pressureHeldMs), state.pressureHeld)
    state.pressureHeldMs = 0
  }
  const noteValve = (isOpen: boolean, timeMs: number): void => {
    const isOpenNow = state.openMs > 0 && state.shutMs < state.openMs
    if (isOpen && !isOpenNow) state.openMs = timeMs
    else if (!isOpen && isOpenNow) state.shutMs = timeMs
  }
  return {
    channels: ['fluxer.flow', 'fluxer.pressure', 'fluxer.spray-on'],

    take(index, timeMs, value) {
      if (index === VALVE) noteValve(value > 0.5, timeMs)
      else if (index === FLOW) {
        noteFlow(timeMs, value)
        releaseFlow()
        state.flowHeldMs = timeMs
        state.flowHeld = value
      } else if (index === PRESSURE) {
        releasePressure()
        state.pressureHeldMs = timeMs
        state.pressureHeld = value
      }
    },

    endSlot(slot, give) {
      releaseFlow()
      releasePressure()
      if (slot.clean && slot.state === 'production') {
        giveChannel('fluxer.flow', flow, state.flow, slot, give)
        giveChannel('fluxer.pressure', pressure, state.pressure, slot, give)
        givePair(slot, give)
      }
      givePerBoard(slot, give)
      clearMoments(state.flow)
      clearMoments(state.pressure)
    },
  }

  function noteFlow(timeMs: number, value: number): void {
    const intervalMs = timeMs - state.flowMs
    if (flow !== undefined && state.flowMs > 0 && intervalMs > 0) state.sprayedML += (Math.max(0, value) * Math.min(intervalMs, 3000 * flow.periodS)) / 60_000
    state.topFlow = Math.max(value, state.topFlow * (1 - TOP_FLOW_DECAY))
    if (!hasValve()) noteValve(value > OPEN_SHARE * state.topFlow, timeMs)
    state.flowMs = timeMs
  }

  function giveChannel(channel: string, track: TrackState | undefined, moments: TrendMoments, slot: Slot, give: Give): void {
    if (track === undefined || track.frozenInSlot || readingCount(moments) < READINGS_MIN) return
    const mean = meanOf(moments)
    const weight = Math.min(1, (readingCount(moments) * track.periodS) / SLOT_S)
    give(`${channel}.mean`, slot.endMs, mean, weight)
    const spread = showsVariance(track) ? lnSd(varianceAboutLine(moments), track.resolution) : undefined
    if (spread !== undefined && mean > 0) give(`${channel}.spread`, slot.endMs, spread - Math.log(mean), weight)
  }

  /** Orifice law: the flow goes with the root of the pressure (Q = Cd A √(2 P/ρ), B6), so the quotient shows the opening. */
  function givePair(slot: Slot, give: Give): void {
    if (readingCount(state.flow) < READINGS_MIN || readingCount(state.pressure) < READINGS_MIN) return
    const pressureBar = meanOf(state.pressure)
    if (pressureBar <= 0) return
    give('fluxer.flow-for-pressure', slot.endMs, meanOf(state.flow) / Math.sqrt(pressureBar), Math.min(1, readingCount(state.flow) / 300))
  }

  function noteSpeed(speed: number | undefined): void {
    if (speed !== undefined && speed > 0) state.blockSpeed = speed
    else delete state.blockSpeed
  }

  function doseOf(recipe: string, doseML: number): number {
    return state.doses === undefined || state.blockSpeed === undefined ? doseML : doseAtUsualSpeed(state.doses, recipe, doseML, state.blockSpeed)
  }

  function givePerBoard(slot: Slot, give: Give): void {
    const speed = live.runs?.['conveyor.speed']
    const goesOn = state.slots === 0 || speed === undefined || state.blockSpeed === undefined || isSameSpeed(speed, state.blockSpeed)
    const counts = slot.clean && slot.state === 'production' && slot.boards >= 0 && flow !== undefined && flow.n > 0 && !flow.frozenInSlot && goesOn
    if (counts && state.slots === 0) noteSpeed(speed)
    state.slots = counts ? state.slots + 1 : 0
    state.boards = counts ? state.boards + slot.boards : 0
    if (counts && state.slots === PER_BOARD_SLOTS && state.boards >= BOARDS_MIN) give('fluxer.flux-per-board', slot.endMs, doseOf(slot.recipe, state.sprayedML / state.boards), 1)
    if (counts && state.slots < PER_BOARD_SLOTS) return
    state.slots = 0
    state.boards = 0
    state.sprayedML = 0
  }
}
