import { channelKindOf } from '../channels.js'
import type { FeatureValue, LineStateName } from '../feature-value.js'
import type { LineDefinition } from '../line-definition.js'
import type { Reading } from '../reading.js'
import { createBoardCounter, noteBoardCount, takeSlotBoards, type BoardCounter } from './board-counter.js'
import { createTrack, noteReading, startSlot, type ChannelScale, type TrackState } from './channel-track.js'
import { createCollectors } from './collectors.js'
import { contextAt, noteContext, type PastContext } from './context-log.js'
import { qualityOf, type ChannelQuality } from './data-quality.js'
import { declaredChannels } from './declared-channels.js'
import { featureCatalogue } from './feature-catalogue.js'
import { SLOT_MS, type FeatureSpec } from './feature-spec.js'
import { notePause, PAUSE_CHANNELS, slotState, watchPause, type Collector, type Give, type LiveContext, type Slot } from './slot.js'

export interface FeatureContext {
  readonly state: LineStateName
  readonly recipe: string
  readonly stateSinceMs: number
}

/** State and recipe of the window a value was taken from; those of now may already be others. */
export interface WindowContext {
  readonly state: LineStateName
  readonly recipe: string
}

export type EmitFeature = (value: FeatureValue, spec: FeatureSpec, context: WindowContext) => void

export interface FeatureSet {
  /** Takes a reading. Windows that end before it are closed first, under the state they were in. */
  take(reading: Reading, context: FeatureContext, emit: EmitFeature): void
  /** A change of state or recipe, told before the reading that brought it. */
  stateChanged(change: { readonly timeMs: number; readonly state: LineStateName; readonly recipe: string }, emit: EmitFeature): void
  /** End of the data: windows that hold enough are closed. */
  flush(emit: EmitFeature): void
  /** What is known of each channel that has been heard. */
  dataQuality(): readonly ChannelQuality[]
  snapshot(): unknown
}

/** Everything that lives across readings. Plain JSON. */
interface FeatureSetState {
  readonly version: 1
  /** Begin of the open slot, ms UTC; 0 before the first reading. */
  slotMs: number
  lastMs: number
  readonly live: LiveContext
  readonly past: PastContext[]
  readonly boards: BoardCounter
  readonly tracks: Record<string, TrackState>
  readonly collectors: Record<string, unknown>
}

/** Streaming channels that may stand still by right: counters, valves, pump commands, whatever a site adds. */
const UNJUDGED = /^(?:board\.count|fluxer\.spray-on|pot\.pump-speed|custom\..*)$/

interface Route {
  readonly track: TrackState
  readonly scale: ChannelScale
  /** Comes late, in its own time: it does not move the line's clock. */
  readonly isDelayed: boolean
  readonly collectors: Collector[]
  readonly indexes: number[]
}

/**
 * The features of a line from its readings, in one pass.
 *
 * @param definition a checked line definition
 * @param snapshot what `snapshot()` gave, for this or an earlier definition of the line; absent for a new line
 * @throws Error if the snapshot is of another version
 */
export function createFeatureSet(definition: LineDefinition, snapshot?: unknown): FeatureSet {
  return new WindowedFeatures(definition, snapshot as FeatureSetState | undefined)
}

function createState(): FeatureSetState {
  return {
    version: 1, slotMs: 0, lastMs: 0, live: { state: 'off', recipe: '', changedMs: 0, recipeSinceMs: 0, offSinceMs: 0, offUntilMs: 0 },
    past: [], boards: createBoardCounter(), tracks: {}, collectors: {},
  }
}

class WindowedFeatures implements FeatureSet {
  private readonly state: FeatureSetState
  private readonly specOf: ReadonlyMap<string, FeatureSpec>
  private readonly collectors: readonly (Collector & { flush?(give: Give): void })[]
  private readonly routes = new Map<string, Route>()
  private emit: EmitFeature = () => undefined
  /** Context of the values that are being given. */
  private giving: WindowContext

  constructor(definition: LineDefinition, snapshot: FeatureSetState | undefined) {
    if (snapshot !== undefined && snapshot.version !== 1) throw new Error(`features of line "${definition.line}": snapshot has version ${String(snapshot.version)}; expected 1`)
    this.state = snapshot === undefined ? createState() : structuredClone(snapshot)
    this.giving = this.state.live
    const channels = declaredChannels(definition)
    const specs = featureCatalogue(definition)
    this.specOf = new Map(specs.map((spec) => [spec.feature, spec]))
    const trackOf = (channel: string): TrackState | undefined => (channels.has(channel) ? (this.state.tracks[channel] ??= createTrack(channels.periodS(channel))) : undefined)
    this.collectors = createCollectors({
      definition,
      channels,
      specOf: this.specOf,
      trackOf,
      live: this.state.live,
      giveFor: (feature, timeMs, value, weight, recipe) => {
        this.giving = { state: 'production', recipe }
        this.give(feature, timeMs, value, weight)
      },
      contextAt: (timeMs) => contextAt(this.state.past, timeMs),
      stateOf: (name, create) => (this.state.collectors[name] ??= create()) as ReturnType<typeof create>,
    })
    for (const channel of channels.all) {
      const track = trackOf(channel)
      if (track === undefined) continue
      const arrival = channelKindOf(channel)?.channelKind.arrival
      const isJudged = arrival === 'streaming' && !UNJUDGED.test(channel)
      this.routes.set(channel, { track, scale: { rail: channel.endsWith('.duty') ? 100 : 0, isJudged }, isDelayed: arrival === 'delayed', collectors: [], indexes: [] })
    }
    for (const collector of this.collectors) {
      collector.channels.forEach((channel, index) => {
        const route = this.routes.get(channel)
        route?.collectors.push(collector)
        route?.indexes.push(index)
      })
    }
  }

  private readonly give: Give = (feature, timeMs, value, weight) => {
    const spec = this.specOf.get(feature)
    if (spec === undefined) return
    if (!Number.isFinite(value)) throw new Error(`feature ${feature} at ${timeMs}: value is ${value}; expected a finite number`)
    // an event that began in one state may end in the next, as a warm-up does
    const state = spec.states.includes(this.giving.state) ? this.giving.state : (spec.states[0] ?? this.giving.state)
    this.emit({ feature, timeMs, value, weight }, spec, { state, recipe: this.giving.recipe })
  }

  take(reading: Reading, context: FeatureContext, emit: EmitFeature): void {
    this.emit = emit
    const { state } = this
    const route = this.routes.get(reading.channel)
    if (route?.isDelayed !== true) {
      this.advance(reading.timeMs)
      if (context.state !== state.live.state || context.recipe !== state.live.recipe) this.change(reading.timeMs, context.state, context.recipe)
    }
    const { value, timeMs } = reading
    if (route === undefined || typeof value !== 'number') return
    noteReading(route.track, timeMs, value, state.live.state, route.scale)
    watchPause(state.live, reading.channel, value)
    if (reading.channel === 'board.count') noteBoardCount(state.boards, value)
    this.giving = state.live
    for (let at = 0; at < route.collectors.length; at += 1) (route.collectors[at] as Collector).take(route.indexes[at] as number, timeMs, value, this.give)
  }

  stateChanged(change: { readonly timeMs: number; readonly state: LineStateName; readonly recipe: string }, emit: EmitFeature): void {
    this.emit = emit
    this.advance(Math.max(change.timeMs, this.state.lastMs))
    this.change(Math.max(change.timeMs, this.state.lastMs), change.state, change.recipe)
  }

  flush(emit: EmitFeature): void {
    this.emit = emit
    if (this.state.slotMs === 0) return
    this.endSlot(this.state.slotMs + SLOT_MS)
    this.giving = this.state.live
    for (const collector of this.collectors) collector.flush?.(this.give)
  }

  dataQuality(): readonly ChannelQuality[] {
    return Object.entries(this.state.tracks).flatMap(([channel, track]) => (track.lastMs === 0 ? [] : [qualityOf(channel, track, this.routes.get(channel)?.scale.isJudged === true, this.state.lastMs)]))
  }

  snapshot(): unknown {
    return structuredClone(this.state)
  }

  /** Closes the open slot if the time has left it, and marks a gap where slots were missed. */
  private advance(timeMs: number): void {
    const { state } = this
    if (state.slotMs === 0) state.slotMs = Math.floor(timeMs / SLOT_MS) * SLOT_MS
    else if (timeMs >= state.slotMs + SLOT_MS || timeMs < state.slotMs) {
      const isBack = timeMs < state.slotMs
      const nextMs = Math.floor(timeMs / SLOT_MS) * SLOT_MS
      if (!isBack) this.endSlot(state.slotMs + SLOT_MS)
      if (isBack || nextMs !== state.slotMs) this.skipTo(nextMs)
    }
    state.lastMs = timeMs
  }

  private endSlot(endMs: number): void {
    const { state } = this
    const { live } = state
    const { state: slotIs, sinceMs } = slotState(live, endMs)
    const slot: Slot = {
      startMs: state.slotMs, endMs, state: slotIs, recipe: live.recipe, clean: sinceMs <= state.slotMs, recipeSinceMs: live.recipeSinceMs,
      boards: takeSlotBoards(state.boards),
    }
    if (slot.clean && slotIs === 'production') live.runs = this.runsBy(({ sum, n }) => sum / n)
    this.giving = { state: slotIs, recipe: live.recipe }
    for (const collector of this.collectors) collector.endSlot(slot, this.give)
    for (const channel in state.tracks) startSlot(state.tracks[channel] as TrackState)
    state.slotMs = endMs
  }

  /** A gap, or a clock that was set back: nothing that was open goes on. */
  private skipTo(startMs: number): void {
    const { live } = this.state
    const gap: Slot = { startMs: this.state.slotMs, endMs: startMs, state: live.state, recipe: live.recipe, clean: false, recipeSinceMs: live.recipeSinceMs, boards: -1 }
    for (const collector of this.collectors) collector.endSlot(gap, this.give)
    for (const track of Object.values(this.state.tracks)) {
      startSlot(track)
      if (track.changedMs > startMs) track.changedMs = startMs
    }
    if (live.changedMs > startMs) live.changedMs = startMs
    if ((live.producingSinceMs ?? 0) > startMs) live.producingSinceMs = startMs
    if (live.recipeSinceMs > startMs) live.recipeSinceMs = startMs
    this.state.slotMs = startMs
  }

  /** What chain and pump do now. */
  private lastRuns(): Partial<Record<string, number>> {
    return this.runsBy(({ last }) => last)
  }

  private runsBy(valueOf: (track: TrackState) => number): Partial<Record<string, number>> {
    return Object.fromEntries(PAUSE_CHANNELS.flatMap((channel) => {
      const track = this.state.tracks[channel]
      return track === undefined || track.n === 0 ? [] : [[channel, valueOf(track)]]
    }))
  }

  private change(timeMs: number, toState: LineStateName, recipe: string): void {
    const { live, past } = this.state
    if (live.state === 'off' && toState !== 'off') live.offUntilMs = timeMs
    if (live.state !== 'off' && toState === 'off') live.offSinceMs = timeMs
    // A line that is first heard with no recipe known learns its name later: that is no changeover.
    if (recipe !== live.recipe && live.recipe !== '') live.recipeSinceMs = timeMs
    notePause(live, timeMs, toState, recipe, this.lastRuns())
    live.state = toState
    live.recipe = recipe
    live.changedMs = timeMs
    noteContext(past, timeMs, toState, recipe)
  }
}
