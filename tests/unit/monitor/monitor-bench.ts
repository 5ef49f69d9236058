import { parseLineDefinition, type LineDefinition } from '../../../src/line/line-definition.js'
import type { LineEvent, LineInput } from '../../../src/monitor/line-event.js'
import { createLineMonitor } from '../../../src/monitor/line-monitor.js'
import type { LineMonitor, LineOutput, LineOutputKind } from '../../../src/monitor/line-output.js'

export const START_MS = Date.UTC(2026, 0, 5, 6)

export function define(input: object = {}): LineDefinition {
  const result = parseLineDefinition({ line: 'line-a', simulated: true, ...input })
  if (result.kind === 'faults') throw new Error(JSON.stringify(result.faults))
  return result.definition
}

/** A line with one channel of its own besides zones, speed and recipe. */
export const BENCH_DEFINITION = {
  channels: [
    { channel: 'custom.temperature', periodS: 60 },
    { channel: 'preheat.zone-1.temperature', periodS: 10 },
    { channel: 'preheat.zone-2.temperature', periodS: 10 },
    { channel: 'preheat.zone-3.temperature', periodS: 10 },
    { channel: 'conveyor.speed', periodS: 5 },
    { channel: 'line.recipe', latenessS: 10 },
    { channel: 'line.state', latenessS: 10 },
  ],
}

type BodyOf<K extends LineOutputKind> = Extract<LineOutput, { kind: K }>['body']

/** Feeds a monitor and keeps what it says, readings left out. */
export class MonitorBench {
  readonly outputs: LineOutput[] = []
  seq = 0
  monitor: LineMonitor

  constructor(
    readonly definition: LineDefinition = define(BENCH_DEFINITION),
    snapshot?: unknown,
  ) {
    this.monitor = createLineMonitor(definition, snapshot)
  }

  give(input: LineInput, receivedMs = START_MS): this {
    this.seq += 1
    this.monitor.step({ ...input, seq: this.seq, receivedMs } as LineEvent, (output) => {
      if (output.kind !== 'reading') this.outputs.push(structuredClone(output))
    })
    return this
  }

  run(fromMinute: number, toMinute: number, each: Minute | ((minute: number) => Minute) = {}): this {
    for (let minute = fromMinute; minute < toMinute; minute += 1) for (const input of inputsOfMinute(minute, typeof each === 'function' ? each(minute) : each)) this.give(input, Number(input.time))
    return this
  }

  /** Goes on from the text of a snapshot, as after a restart. */
  restart(definition: LineDefinition = this.definition): this {
    this.monitor = createLineMonitor(definition, JSON.parse(JSON.stringify(this.monitor.snapshot())))
    return this
  }

  of<K extends LineOutputKind>(kind: K): BodyOf<K>[] {
    return this.outputs.filter((output) => output.kind === kind).map((output) => output.body as BodyOf<K>)
  }
}

/** Numbers around 0, the same at every run and never periodic. */
export function spreadAt(index: number): number {
  return [1, 2, 3, 4].reduce((sum, factor) => sum + (((index * factor * 0.6180339887) % 1) - 0.5), 0)
}

export interface Minute {
  readonly recipe?: string
  readonly state?: string
  readonly zonesC?: readonly number[]
  readonly custom?: number
  /** How many times the usual the speed scatters. */
  readonly jerk?: number
}

/** What a line publishes in one minute: the chain at 20 mm/s in production and standing else. */
export function inputsOfMinute(minute: number, options: Minute = {}): (LineInput & { readonly kind: 'value' })[] {
  const { recipe = 'board-a', state = 'production', zonesC = [110, 130, 150], jerk = 1 } = options
  const fromMs = START_MS + minute * 60_000
  const inputs: (LineInput & { readonly kind: 'value' })[] = []
  const put = (channel: string, second: number, value: number | string): void => void inputs.push({ kind: 'value', channel, value, time: fromMs + second * 1000 })
  if (minute % 5 === 0) put('line.recipe', 0, recipe)
  put('line.state', 0, state)
  for (let second = 0; second < 60; second += 5) {
    const index = minute * 12 + second / 5
    put('conveyor.speed', second, state === 'production' ? 20 + 0.1 * jerk * spreadAt(index) : 0)
    if (second % 10 === 0) zonesC.forEach((zoneC, zone) => put(`preheat.zone-${zone + 1}.temperature`, second, zoneC + 0.3 * spreadAt(index * 3 + zone)))
  }
  put('custom.temperature', 0, options.custom ?? 60 + spreadAt(minute))
  return inputs
}

/** Minutes from START_MS. */
export function minutesOf(timeMs: number): number {
  return (timeMs - START_MS) / 60_000
}
