import type { Suggestion, WorkRecord } from '../maintenance/suggestion.js'
import { isWork, workItem } from '../maintenance/work-catalogue.js'
import { DEMO_DAYS, demoConfig, samplesAsMessage } from '../simulator/demo-line.js'
import { isSimulatedFault } from '../simulator/simulation-causes.js'
import type { MaintenanceWork, SimulationConfig } from '../simulator/simulation-config.js'
import { createSimulation, type Simulation } from '../simulator/simulation.js'
import type { LinePort } from './line-port.js'
import { releaseSite } from './site.js'

const HOUR_MS = 3_600_000
const DAY_MS = 24 * HOUR_MS
/** A Monday; the simulated clock has nothing to do with the wall clock. */
const FIRST_START_MS = Date.UTC(2026, 0, 5)
/** The demonstration's days pass at full speed; after them the line lives on slowly, so that there is still something to see. */
const DURATION_DAYS = 90
const LATER_SPEED = 60
/** Ticks in one message: at thousands of times real time single ones would only load the broker. */
const TICKS_PER_MESSAGE = 10
const IN_FLIGHT_MAX = 40
/** The line has this many events to catch up with: wait. */
const QUEUED_MAX = 1500
const SAVE_EVERY_MS = 1000
/** Work on simulated seconds before others get a turn, ms. */
const SLICE_MS = 12
const PAUSE_MS = 10
/** So far behind its clock the drive sets it anew instead of sprinting. */
const BEHIND_MS = 500

export type DriveState =
  | { readonly kind: 'stopped'; readonly timeMs: number }
  | { readonly kind: 'catching-up'; readonly timeMs: number }
  | { readonly kind: 'running'; readonly timeMs: number; readonly speed: number }
  | { readonly kind: 'ended'; readonly timeMs: number }

export interface SimulatorDriveOptions {
  readonly port: LinePort
  readonly plant: 'faulty' | 'healthy'
  /** Drawn and kept where it is absent. */
  readonly seed: number | undefined
  /** Times real time, at most. */
  readonly speed: number
  /** Key of the drive's state in the store. */
  readonly key: string
  /** Draws a seed. */
  readonly drawSeed: () => number
  readonly onState: (state: DriveState) => void
}

/** Where a simulation stood: plain JSON. The same seed and works up to the same time give the same line again. */
interface SavedDrive {
  readonly seed: number
  readonly plant: 'faulty' | 'healthy'
  readonly startMs: number
  readonly timeMs: number
  readonly works: readonly MaintenanceWork[]
}

/** Runs a simulated line in accelerated time and publishes it, no faster than the line can follow. */
export class SimulatorDrive {
  private running: Promise<void> | undefined
  private stopping = false
  private simulation: Simulation | undefined
  private saved: SavedDrive | undefined
  private readonly endFeedback: () => void

  constructor(private readonly options: SimulatorDriveOptions) {
    this.endFeedback = options.port.onOutput(['suggestion', 'fact'], ({ output }) => {
      if (output.kind === 'suggestion' && output.body.status === 'done' && output.body.history.at(-1)?.reason !== 'recorded') this.perform(worksOfSuggestion(output.body))
      if (output.kind === 'fact' && output.body.type === 'record' && !output.body.withdrawn && output.body.earlier.length === 0) this.perform(worksOfRecord(output.body.record))
    })
  }

  /** Starts, or goes on; resolves when it has stopped or ended. A second call while it runs gives the same promise. */
  start(): Promise<void> {
    this.stopping = false
    this.running ??= this.run().finally(() => {
      this.running = undefined
    })
    return this.running
  }

  async stop(): Promise<void> {
    this.stopping = true
    await this.running?.catch(() => undefined)
  }

  async close(): Promise<void> {
    this.endFeedback()
    await this.stop()
  }

  private async run(): Promise<void> {
    const { port, key, onState } = this.options
    // Held, so that the last position can still be written while the line is closing.
    const site = await port.holdSite()
    try {
      const simulation = this.simulation ?? (await this.resume(site.store.readNodeState(key) as SavedDrive | undefined))
      this.simulation = simulation
      const save = (): void => {
        if (this.saved === undefined) return
        this.saved = { ...this.saved, timeMs: simulation.timeMs }
        site.store.writeNodeState(key, this.saved)
      }
      save()
      try {
        const ended = await this.drive(simulation, save)
        onState({ kind: ended ? 'ended' : 'stopped', timeMs: simulation.timeMs })
      } finally {
        save()
      }
    } finally {
      await releaseSite(site)
    }
  }

  /** @returns whether the simulation is at its end */
  private async drive(simulation: Simulation, save: () => void): Promise<boolean> {
    const { port, onState } = this.options
    const topic = `${port.definition?.topicRoot ?? 'wave-solder'}/${port.line ?? ''}/telemetry`
    const inFlight = new Set<Promise<void>>()
    let failure: unknown
    let anchor = { wallMs: performance.now(), simulatedMs: simulation.timeMs, speed: this.speedAt(simulation) }
    let nextSaveMs = 0
    let ended = false
    while (!this.stopping && !ended && failure === undefined) {
      const nowMs = performance.now()
      const speed = this.speedAt(simulation)
      let dueMs = anchor.simulatedMs + (nowMs - anchor.wallMs) * anchor.speed
      if (speed !== anchor.speed || dueMs - simulation.timeMs > BEHIND_MS * anchor.speed) {
        anchor = { wallMs: nowMs, simulatedMs: simulation.timeMs, speed }
        dueMs = simulation.timeMs + PAUSE_MS * speed
      }
      while (simulation.timeMs < dueMs && performance.now() - nowMs < SLICE_MS && inFlight.size < IN_FLIGHT_MAX && (port.runningLine?.status().queued ?? 0) < QUEUED_MAX) {
        const payload = nextPayload(simulation)
        if (payload === undefined) {
          ended = true
          break
        }
        const sent = port.publish(topic, payload).catch((error: unknown) => {
          failure ??= error
        })
        inFlight.add(sent)
        void sent.finally(() => inFlight.delete(sent))
      }
      if (nowMs >= nextSaveMs) {
        nextSaveMs = nowMs + SAVE_EVERY_MS
        save()
        onState({ kind: 'running', timeMs: simulation.timeMs, speed: anchor.speed })
      }
      await new Promise((resolve) => setTimeout(resolve, PAUSE_MS))
    }
    await Promise.all(inFlight)
    // A line that closes while the drive stops takes no more: what was not taken is published again after the start.
    if (failure !== undefined && !this.stopping) throw failure
    return ended
  }

  private speedAt(simulation: Simulation): number {
    const { speed } = this.options
    return simulation.timeMs - simulation.config.startMs < DEMO_DAYS * DAY_MS ? speed : Math.min(speed, LATER_SPEED)
  }

  /** The line as it was left, or a new one whose clock lies after everything the line has seen. */
  private async resume(saved: SavedDrive | undefined): Promise<Simulation> {
    const { port, plant, seed, drawSeed, onState } = this.options
    const seenMs = Math.max(saved?.timeMs ?? 0, ...(port.runningLine?.channelTimes.values() ?? []))
    const goesOn = saved !== undefined && saved.plant === plant && (seed === undefined || saved.seed === seed)
    const startMs = goesOn ? saved.startMs : seenMs === 0 ? FIRST_START_MS : mondayAfter(seenMs)
    this.saved = { seed: goesOn ? saved.seed : (seed ?? drawSeed()), plant, startMs, timeMs: startMs, works: goesOn ? saved.works : [] }
    const simulation = createSimulation(configOf(this.saved))
    let sliceEndMs = performance.now() + SLICE_MS
    while (goesOn && simulation.timeMs < seenMs && !this.stopping) {
      if (simulation.next() === undefined) break
      if (performance.now() < sliceEndMs) continue
      onState({ kind: 'catching-up', timeMs: seenMs })
      await new Promise((resolve) => setImmediate(resolve))
      sliceEndMs = performance.now() + SLICE_MS
    }
    return simulation
  }

  /** Work reported as done is done on the simulated line too, and no other. */
  private perform(works: readonly Omit<MaintenanceWork, 'atHours'>[]): void {
    const { simulation, saved } = this
    if (simulation === undefined || saved === undefined || works.length === 0) return
    for (const work of works) simulation.perform(work)
    const atHours = (simulation.timeMs - saved.startMs) / HOUR_MS
    this.saved = { ...saved, works: [...saved.works, ...works.map((work) => ({ ...work, atHours }))] }
  }
}

/** A suggestion whose work was called done without a record of it: the causes that were named are mended. */
function worksOfSuggestion(suggestion: Suggestion): Omit<MaintenanceWork, 'atHours'>[] {
  const [lead] = suggestion.causes
  const causes = lead === undefined ? [] : (lead.members ?? [lead.cause]).filter(isSimulatedFault)
  if (causes.length === 0) return []
  const zone = lead?.zone === undefined ? {} : { zone: lead.zone }
  return [
    { work: 'repair' as const, causes, durationHours: 1, ...zone },
    ...(causes.includes('dry-chain') ? [{ work: 'lubricate' as const, causes, durationHours: 0.5 }] : []),
  ]
}

const WORK_OF_KIND: Readonly<Record<string, MaintenanceWork['work']>> = { cleaning: 'full-clean', lubrication: 'lubricate', repair: 'repair', adjustment: 'repair', 'top-up': 'top-up' }

/** A record of work: washing a chain takes its film off, and only lubricating brings it back. */
export function worksOfRecord({ work, zone, minutes }: WorkRecord): Omit<MaintenanceWork, 'atHours'>[] {
  if (!isWork(work)) return []
  const { kind, mends } = workItem(work)
  const simulated = WORK_OF_KIND[kind]
  if (simulated === undefined) return []
  const causes = mends.filter(isSimulatedFault)
  return [{ work: simulated, causes, lubricated: false, durationHours: Math.min(4, (minutes ?? 30) / 60), ...(zone === undefined ? {} : { zone }) }]
}

function configOf(saved: SavedDrive): SimulationConfig {
  const config = demoConfig({ seed: saved.seed, line: saved.plant, startMs: saved.startMs })
  return { ...config, durationHours: DURATION_DAYS * 24, cleanings: [...(config.cleanings ?? []), ...saved.works] }
}

/** The next ticks as one message: `[{"t": ms, "v": {channel: value}}, …]`. */
function nextPayload(simulation: Simulation): string | undefined {
  const ticks: string[] = []
  while (ticks.length < TICKS_PER_MESSAGE) {
    const sample = simulation.next()
    if (sample === undefined) break
    ticks.push(samplesAsMessage(sample))
  }
  return ticks.length === 0 ? undefined : `[${ticks.join(',')}]`
}

function mondayAfter(timeMs: number): number {
  const weeks = Math.floor((timeMs - FIRST_START_MS) / (7 * DAY_MS)) + 1
  return FIRST_START_MS + weeks * 7 * DAY_MS
}
