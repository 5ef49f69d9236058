import type { LineDefinition } from '../line-definition.js'
import type { Reading, Rejection } from '../reading.js'
import { compileBinding, type BoundChannel } from './channel-binding.js'
import { decodeMessage, decodeValue, type DecodeSink } from './decode-message.js'
import { createReadingBuffer, type BufferSink, type ReadingBufferState } from './reading-buffer.js'
import { createRecentMessages, type RecentMessagesState } from './recent-messages.js'
import { createRejectionLog, type RejectionCounts } from './rejection-log.js'

/** What comes in: a raw message, or a value whose channel is known. */
export type TelemetryInput =
  | { readonly kind: 'message'; readonly topic: string; readonly payload: string; readonly retained?: boolean; readonly receivedMs: number }
  | { readonly kind: 'value'; readonly channel: string; readonly value: unknown; readonly time?: unknown; readonly unit?: string; readonly receivedMs: number }

/** Where the stage's results go: readings in the order of their time, refusals as they are found. */
export type TelemetrySink = BufferSink

interface TelemetrySnapshot {
  readonly version: 1
  readonly buffer: ReadingBufferState
  readonly rejections: RejectionCounts
  readonly recentMessages?: RecentMessagesState
}

/** The first stage of a line: decode, check, convert, put in order. */
export interface TelemetryStage {
  take(input: TelemetryInput, sink: TelemetrySink): void
  /** Lets all held readings go: the end of the data. */
  flush(sink: TelemetrySink): void
  /** What was refused so far, by reason, with the last of each. */
  rejections(): RejectionCounts
  /** Readings let go early because too many were held. */
  readonly forcedCount: number
  /** Plain JSON; `createTelemetryStage(definition, snapshot)` goes on exactly. */
  snapshot(): unknown
}

/**
 * @param definition a checked line definition
 * @param snapshot what `snapshot()` gave, after a JSON round trip or not
 * @throws Error if the snapshot is of another version
 */
export function createTelemetryStage(definition: LineDefinition, snapshot?: unknown): TelemetryStage {
  const from = structuredClone(snapshot) as TelemetrySnapshot | undefined
  if (from !== undefined && from.version !== 1) throw new Error(`telemetry snapshot has version ${String(from.version)}; expected 1`)
  const binding = compileBinding(definition)
  const options = { latenessMs: binding.latenessMs, ownClock: definition.simulated }
  const buffer = createReadingBuffer((channel) => binding.channelOf(channel), options, from?.buffer)
  const log = createRejectionLog(from?.rejections)
  // A line with a real clock tells a backlog from a clock set back by its pace; one that takes its clock from its data cannot.
  const recent = definition.simulated ? createRecentMessages(from?.recentMessages) : undefined

  // One pair of callbacks for all messages, with the sink of the current one: none is made per reading.
  let current: TelemetrySink | undefined
  let receivedMs = 0
  let isRepeat = false
  const counted: BufferSink = {
    release: (reading: Reading) => current?.release(reading),
    epoch: (timeMs, beforeMs) => current?.epoch(timeMs, beforeMs),
    reject(rejection: Rejection) {
      log.note(rejection)
      current?.reject(rejection)
    },
  }
  const decoded: DecodeSink = {
    take: (reading: Reading, bound: BoundChannel) => buffer.take(reading, bound, receivedMs, counted, isRepeat),
    reject: counted.reject,
    newestMs: (channel) => buffer.newestMs(channel),
  }

  return {
    take(input, sink) {
      current = sink
      receivedMs = input.receivedMs
      isRepeat = input.kind === 'message' && recent?.isRepeat(input.topic, input.payload) === true
      if (input.kind === 'message') decodeMessage(binding, input, decoded)
      else decodeValue(binding, input, decoded)
      current = undefined
    },
    flush(sink) {
      current = sink
      buffer.flush(counted)
      current = undefined
    },
    rejections: () => log.counts(),
    get forcedCount() {
      return buffer.forcedCount
    },
    snapshot(): TelemetrySnapshot {
      return { version: 1, buffer: buffer.snapshot(), rejections: structuredClone(log.counts()), ...(recent === undefined ? {} : { recentMessages: recent.snapshot() }) }
    },
  }
}
