import type { Reading, Rejection, RejectionReason } from '../reading.js'
import type { BoundChannel, ChannelBinding, PayloadShape } from './channel-binding.js'
import { parsePath, walkPath, type PayloadPath } from './payload-path.js'
import { parseReadingTime } from './reading-time.js'
import { checkValue } from './reading-value.js'
import { shortened } from './shortened.js'

/** A payload above this is no reading of a line. */
export const PAYLOAD_BYTES_MAX = 256 * 1024

/** A message as it came from the broker. */
export interface IncomingMessage {
  readonly topic: string
  readonly payload: string
  /** The broker kept it: without a time of its own it may be of any age. */
  readonly retained?: boolean
  readonly receivedMs: number
}

/** A value whose channel is known: a row of a file, a msg on a wire; the rest is unchecked. */
export interface IncomingValue {
  readonly channel: string
  readonly value: unknown
  readonly time?: unknown
  readonly unit?: string
  readonly receivedMs: number
}

/** Where decoded readings and refusals go, in the order of the message. */
export interface DecodeSink {
  take(reading: Reading, bound: BoundChannel): void
  reject(rejection: Rejection): void
  /** Time of the newest reading of a channel so far, ms UTC: tells the passes of a repeated hour apart. */
  newestMs?(channel: string): number | undefined
}

/** Names tried in a JSON object when the definition gives no paths. */
const USUAL_VALUE = ['value', 'v'].map(parsePath)
const USUAL_TIME = ['time', 't', 'timestamp', 'ts'].map(parsePath)
const USUAL_UNIT = ['unit'].map(parsePath)

/** Good flags where the definition names none: words, `true`, and 192, the good code of the classic data access standard (from memory). */
const USUAL_GOOD: readonly (string | number | boolean)[] = ['good', 'ok', 'valid', true, 192]

interface Arrival {
  readonly topic: string
  readonly retained: boolean
  readonly receivedMs: number
  readonly timeZone: string
}

/**
 * Turns one MQTT message into readings. Forms: a bare number or text; JSON with the paths of the definition, or with
 * the usual names `value`/`v`, `time`/`t`/`timestamp`/`ts`, `unit`; an array of such samples; and on
 * `<topicRoot>/<line>/telemetry` several channels at once: `{"t": …, "v": {"<channel>": value, …}}` or an array of
 * these. What is wrong is refused alone, with its reason: nothing else of the message is lost.
 */
export function decodeMessage(binding: ChannelBinding, message: IncomingMessage, sink: DecodeSink): void {
  const { topic, payload, receivedMs } = message
  const match = binding.match(topic)
  if (match.kind === 'own') return
  const refuse = (reason: RejectionReason, where: string, found: unknown, expected: string): void => {
    sink.reject({ reason, where: shortened(where), timeMs: receivedMs, found: shortened(found), expected })
  }
  if (match.kind === 'unknown-topic') return refuse('unknown-topic', topic, topic, 'a topic of the line definition')
  if (match.kind === 'unknown-channel') return refuse('unknown-channel', topic, match.channel, 'a channel of the list that this line has')
  if (isOversize(payload)) return refuse('oversize', topic, `${payload.length} characters`, `at most ${PAYLOAD_BYTES_MAX} bytes`)
  const arrival: Arrival = { topic, retained: message.retained === true, receivedMs, timeZone: binding.timeZone }
  if (match.kind === 'combined') return decodeCombined(binding, payload, arrival, sink)
  const parsed = match.bounds.some((bound) => bound.channelKind.valueType === 'number' || bound.shape !== undefined) || looksLikeJson(payload) ? parsePayload(payload) : undefined
  for (const bound of match.bounds) {
    if (bound.channelKind.valueType === 'text' && bound.shape === undefined && !looksLikeJson(payload)) {
      decodeSample(bound, { root: payload }, arrival, sink)
    } else if (parsed?.kind === 'json') decodeShaped(bound, parsed.value, arrival, sink)
    else if (bound.shape !== undefined && bound.shape.value.length > 0) refuse('unreadable-payload', bound.channel, payload, 'JSON')
    else decodeSample(bound, { root: payload }, arrival, sink)
  }
}

/** Turns a value whose channel is known into a reading, with the same checks as a message. */
export function decodeValue(binding: ChannelBinding, input: IncomingValue, sink: DecodeSink): void {
  const bound = binding.channelOf(input.channel)
  if (bound === undefined) {
    sink.reject({ reason: 'unknown-channel', where: shortened(input.channel), timeMs: input.receivedMs, found: shortened(input.value), expected: 'a channel of the list that this line has' })
    return
  }
  const arrival: Arrival = { topic: input.channel, retained: false, receivedMs: input.receivedMs, timeZone: binding.timeZone }
  takeSample(bound, { value: input.value, time: input.time, hasTime: input.time !== undefined, unit: input.unit }, arrival, sink)
}

type ParsedPayload = { readonly kind: 'json'; readonly value: unknown } | { readonly kind: 'no-json' }

function parsePayload(payload: string): ParsedPayload {
  try {
    return { kind: 'json', value: JSON.parse(payload) as unknown }
  } catch {
    return { kind: 'no-json' }
  }
}

function looksLikeJson(payload: string): boolean {
  return /^\s*[[{"]/.test(payload)
}

function isOversize(payload: string): boolean {
  // A UTF-16 unit takes at most three bytes of UTF-8, so most payloads need no counting.
  return payload.length * 3 > PAYLOAD_BYTES_MAX && Buffer.byteLength(payload) > PAYLOAD_BYTES_MAX
}

function decodeCombined(binding: ChannelBinding, payload: string, arrival: Arrival, sink: DecodeSink): void {
  const parsed = parsePayload(payload)
  const items: readonly unknown[] = parsed.kind === 'json' ? (Array.isArray(parsed.value) ? parsed.value : [parsed.value]) : [payload]
  for (const item of items) {
    const values = usual(item, [['v']])
    const time = usual(item, USUAL_TIME)
    if (typeof values !== 'object' || values === null || Array.isArray(values)) {
      sink.reject({ reason: 'unreadable-payload', where: arrival.topic, timeMs: arrival.receivedMs, found: shortened(item), expected: '{"t": time, "v": {"<channel>": value, …}}' })
      continue
    }
    for (const channel of Object.keys(values)) {
      const value = (values as Record<string, unknown>)[channel]
      const bound = binding.channelOf(channel)
      if (bound === undefined) {
        sink.reject({ reason: 'unknown-channel', where: shortened(channel), timeMs: arrival.receivedMs, found: shortened(value), expected: 'a channel of the list that this line has' })
      } else takeSample(bound, { value, time, hasTime: time !== undefined, unit: undefined }, arrival, sink)
    }
  }
}

function decodeShaped(bound: BoundChannel, root: unknown, arrival: Arrival, sink: DecodeSink): void {
  const samplesPath = bound.shape?.samples
  if (samplesPath === undefined) {
    const items: readonly unknown[] = bound.shape === undefined && Array.isArray(root) ? root : [root]
    for (const item of items) decodeSample(bound, { root: item }, arrival, sink)
    return
  }
  const samples = walkPath(root, samplesPath)
  if (samples.kind === 'missing' || !Array.isArray(samples.value)) {
    sink.reject({ reason: 'value-missing', where: bound.channel, timeMs: arrival.receivedMs, found: shortened(root), expected: `an array of samples at "${samplesPath.join('.')}"` })
    return
  }
  for (const sample of samples.value as readonly unknown[]) decodeSample(bound, { root: sample }, arrival, sink)
}

function decodeSample(bound: BoundChannel, sample: { readonly root: unknown }, arrival: Arrival, sink: DecodeSink): void {
  const { root } = sample
  const shape: PayloadShape | undefined = bound.shape
  const isObject = typeof root === 'object' && root !== null
  const valuePath = shape?.value ?? []
  const value = valuePath.length > 0 ? at(root, valuePath) : isObject ? usual(root, USUAL_VALUE) : root
  const time = shape?.time !== undefined ? at(root, shape.time) : shape === undefined && isObject ? usual(root, USUAL_TIME) : undefined
  const unit = shape?.unit !== undefined ? at(root, shape.unit) : shape === undefined && isObject ? usual(root, USUAL_UNIT) : undefined
  if (shape?.quality !== undefined) {
    const quality = at(root, shape.quality)
    if (!isGood(quality, shape.goodQuality)) {
      sink.reject({ reason: 'bad-quality', where: bound.channel, timeMs: arrival.receivedMs, found: shortened(quality), expected: `one of ${(shape.goodQuality ?? USUAL_GOOD).join(', ')}` })
      return
    }
  }
  if (shape?.time !== undefined && (time === undefined || time === null)) {
    sink.reject({ reason: 'no-time', where: bound.channel, timeMs: arrival.receivedMs, found: shortened(root), expected: `a time at "${shape.time.join('.')}"` })
    return
  }
  takeSample(bound, { value, time, hasTime: time !== undefined, unit }, arrival, sink)
}

interface Sample {
  readonly value: unknown
  readonly time: unknown
  readonly hasTime: boolean
  readonly unit: unknown
}

function takeSample(bound: BoundChannel, sample: Sample, arrival: Arrival, sink: DecodeSink): void {
  const { channel } = bound
  const refuse = (reason: RejectionReason, timeMs: number, found: unknown, expected: string): void => {
    sink.reject({ reason, where: channel, timeMs, found: shortened(found), expected })
  }
  let timeMs = arrival.receivedMs
  if (sample.hasTime) {
    if (sample.time === null || sample.time === '') return refuse('no-time', timeMs, sample.time, 'a time')
    const newestMs = sink.newestMs?.(channel)
    const timeUnit = bound.shape?.timeUnit
    const parsed = parseReadingTime(sample.time, { timeZone: arrival.timeZone, ...(timeUnit === undefined ? {} : { timeUnit }), ...(newestMs === undefined ? {} : { notBeforeMs: newestMs }) })
    if (parsed.kind === 'bad-time') return refuse('bad-time', timeMs, sample.time, parsed.expected)
    timeMs = parsed.timeMs
  }
  const checked = checkValue(bound, sample.value, sample.unit)
  if (checked.kind === 'rejected') {
    const found = checked.reason === 'unknown-unit' ? sample.unit : sample.value
    return refuse(checked.reason, timeMs, found, checked.expected)
  }
  if (!sample.hasTime && arrival.retained) return refuse('no-time', timeMs, sample.value, 'a time of its own: the broker may have kept this value for any time')
  sink.take({ channel, timeMs, value: checked.value }, bound)
}

function at(root: unknown, path: PayloadPath): unknown {
  const result = walkPath(root, path)
  return result.kind === 'found' ? result.value : undefined
}

function usual(root: unknown, paths: readonly PayloadPath[]): unknown {
  for (const path of paths) {
    const value = at(root, path)
    if (value !== undefined) return value
  }
  return undefined
}

function isGood(quality: unknown, good: readonly (string | number | boolean)[] | undefined): boolean {
  if (good !== undefined) return good.some((value) => value === quality)
  return USUAL_GOOD.some((value) => value === (typeof quality === 'string' ? quality.trim().toLowerCase() : quality))
}
