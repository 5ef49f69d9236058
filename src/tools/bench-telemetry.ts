import { parseLineDefinition } from '../line/line-definition.js'
import { createTelemetryStage, type TelemetryInput, type TelemetrySink } from '../line/telemetry/telemetry-stage.js'

/**
 * Cost of a reading on its way in, side by side: decoding alone is what JSON.parse costs, the rest is checking and
 * putting in order. Figures of one run are to be compared with each other only.
 */
const COUNT = 400_000
const CHANNELS = ['conveyor.speed', 'preheat.zone-1.temperature', 'preheat.zone-2.temperature', 'preheat.zone-3.temperature', 'pot.level', 'pot.temperature', 'pot.duty', 'preheat.zone-1.duty']

const parsed = parseLineDefinition({ line: 'line-a', channels: CHANNELS.map((channel) => ({ channel, periodS: 5 })) })
if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
const { definition } = parsed
const startMs = Date.UTC(2026, 0, 5)

function times(form: (channel: string, timeMs: number, value: number) => TelemetryInput, delayMs: (index: number) => number): TelemetryInput[] {
  const items = Array.from({ length: COUNT }, (_, index) => {
    const timeMs = startMs + Math.floor(index / CHANNELS.length) * 1000
    return { at: timeMs + delayMs(index), input: form(CHANNELS[index % CHANNELS.length] as string, timeMs, 20 + (index % 50) / 10) }
  })
  return items.sort((one, other) => one.at - other.at).map(({ input }) => input)
}

const asValue = (channel: string, timeMs: number, value: number): TelemetryInput => ({ kind: 'value', channel, value, time: timeMs, receivedMs: timeMs })
const asText = (channel: string, timeMs: number, value: number): TelemetryInput => ({ kind: 'value', channel, value: String(value), time: new Date(timeMs).toISOString(), receivedMs: timeMs })
const asMessage = (channel: string, timeMs: number, value: number): TelemetryInput => ({ kind: 'message', topic: `wave-solder/line-a/telemetry/${channel}`, payload: `{"t":${timeMs},"v":${value}}`, receivedMs: timeMs })

const runs: readonly [string, TelemetryInput[]][] = [
  ['values in order', times(asValue, () => 0)],
  ['values up to 9 s late', times(asValue, (index) => (index * 7919) % 9000)],
  ['texts with ISO times', times(asText, () => 0)],
  ['JSON messages in order', times(asMessage, () => 0)],
]

let first = 0
for (let round = 0; round < 2; round++) {
  for (const [name, inputs] of runs) {
    let released = 0
    const sink: TelemetrySink = { release: () => { released += 1 }, reject: ({ reason }) => { throw new Error(reason) }, epoch: () => undefined }
    const stage = createTelemetryStage(definition)
    const beginNs = process.hrtime.bigint()
    for (const input of inputs) stage.take(input, sink)
    stage.flush(sink)
    const ns = Number(process.hrtime.bigint() - beginNs) / COUNT
    if (round === 0) continue
    if (first === 0) first = ns
    process.stdout.write(`${name.padEnd(26)} ${ns.toFixed(0).padStart(6)} ns each, ${(ns / first).toFixed(2)} of the first, ${released} released\n`)
  }
}
