import type { SimulationTruth } from './simulation-truth.js'
import type { SimulatedSample } from './telemetry-output.js'

export const LONG_FORM_HEADER = 'time,channel,value\n'

/** Rows of one tick in long form, `time,channel,value`, times ISO 8601 UTC; late values keep their own stamp. */
export function longFormRows(sample: SimulatedSample): string {
  const time = new Date(sample.timeMs).toISOString()
  let rows = ''
  for (const [channel, value] of sample.values) rows += `${time},${channel},${field(value)}\n`
  for (const [channel, value, timeMs] of sample.delayed) rows += `${new Date(timeMs).toISOString()},${channel},${field(value)}\n`
  return rows
}

/** Header of the wide form: `time` and one column per channel. */
export function wideFormHeader(channels: readonly string[]): string {
  return `${['time', ...channels].join(',')}\n`
}

/** Row of one tick in wide form, empty where a channel has no value; late values follow as rows of their own. */
export function wideFormRows(sample: SimulatedSample, channels: readonly string[]): string {
  let rows = sample.values.length > 0 ? wideRow(sample.timeMs, new Map(sample.values), channels) : ''
  for (const [channel, value, timeMs] of sample.delayed) rows += wideRow(timeMs, new Map([[channel, value]]), channels)
  return rows
}

/** The hidden truth as JSON text; times ISO 8601 UTC. */
export function truthAsJson(truth: SimulationTruth): string {
  const withTime = <T extends { timeMs: number }>({ timeMs, ...rest }: T): object => ({ time: new Date(timeMs).toISOString(), ...rest })
  return `${JSON.stringify(
    {
      seed: truth.seed,
      start: new Date(truth.startMs).toISOString(),
      end: new Date(truth.endMs).toISOString(),
      faults: truth.faults.map(({ onsetMs, ...fault }) => ({ ...fault, onset: new Date(onsetMs).toISOString() })),
      traps: truth.traps,
      events: truth.events.map(withTime),
      moments: truth.moments.map(withTime),
    },
    null,
    1,
  )}\n`
}

function wideRow(timeMs: number, values: ReadonlyMap<string, number | string>, channels: readonly string[]): string {
  let row = new Date(timeMs).toISOString()
  for (const channel of channels) {
    const value = values.get(channel)
    row += value === undefined ? ',' : `,${field(value)}`
  }
  return `${row}\n`
}

function field(value: number | string): string {
  if (typeof value === 'number') return String(value)
  return /[",\n\r]/.test(value) ? `"${value.replaceAll('"', '""')}"` : value
}
