import type { LineInput } from '../../monitor/line-event.js'
import { parseReadingTime } from '../../line/telemetry/reading-time.js'

/** What was expected in the msg, as a text key of the node and its values. */
export type MessageInput = { readonly kind: 'input'; readonly input: LineInput } | { readonly kind: 'fault'; readonly key: string; readonly values: Readonly<Record<string, string>> }

/**
 * A msg into `line-telemetry` as an input of the line: a value of a channel (`msg.channel`, or the node's own), else a
 * message on a topic, as if it had come over MQTT.
 */
export function telemetryInput(msg: Readonly<Record<string, unknown>>, channelOfNode: string): MessageInput {
  const { payload, topic, time, unit } = msg
  if (payload === undefined) return fault('no-payload')
  const channel = typeof msg['channel'] === 'string' && msg['channel'] !== '' ? msg['channel'] : channelOfNode
  if (channel !== '') return { kind: 'input', input: { kind: 'value', channel, value: payload, ...(time === undefined ? {} : { time }), ...(typeof unit === 'string' ? { unit } : {}) } }
  if (typeof topic !== 'string' || topic === '') return fault('no-channel')
  return { kind: 'input', input: { kind: 'message', topic, payload: payloadText(payload) } }
}

/** A number in a msg and its time, for a chart. @param nowMs time of a msg that names none */
export function numberOf(value: unknown, time: unknown, nowMs: number): { readonly value: number; readonly timeMs: number } | undefined {
  const number = typeof value === 'string' && value.trim() !== '' ? Number(value) : value
  if (typeof number !== 'number' || !Number.isFinite(number)) return undefined
  if (time === undefined) return { value: number, timeMs: nowMs }
  const parsed = parseReadingTime(time, { timeZone: 'UTC' })
  return parsed.kind === 'time' ? { value: number, timeMs: parsed.timeMs } : undefined
}

/** A short printable form of what was found instead. */
export function foundText(value: unknown): string {
  if (typeof value === 'string') return JSON.stringify(value.slice(0, 40))
  if (typeof value === 'object' && value !== null) return Array.isArray(value) ? 'an array' : 'an object'
  return String(value)
}

function payloadText(payload: unknown): string {
  if (typeof payload === 'string') return payload
  if (Buffer.isBuffer(payload)) return payload.toString('utf8')
  return JSON.stringify(payload) ?? ''
}

function fault(key: string): MessageInput {
  return { kind: 'fault', key, values: {} }
}
