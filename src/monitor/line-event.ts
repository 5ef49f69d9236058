import type { LineDefinition } from '../line/line-definition.js'
import type { MaintenanceEntry } from '../maintenance/maintenance-entry.js'
import type { SuggestionReply, WorkRecord } from '../maintenance/suggestion.js'

/** Stages of the way of a reading, in order; each needs those before it. */
export const STAGES = ['telemetry', 'charts', 'diagnosis', 'queue'] as const
export type Stage = (typeof STAGES)[number]

/**
 * Everything that can change a line's state. An event is journalled before it is taken, and the same events in the
 * same order give the same outputs.
 */
export type LineEvent = LineInput & {
  /** Position in the line's journal, from 1. */
  readonly seq: number
  /** When it was received, ms UTC; the only trace of the wall clock. */
  readonly receivedMs: number
}

/** A LineEvent before the journal has numbered it. */
export type LineInput =
  /** A raw MQTT message. */
  | { readonly kind: 'message'; readonly topic: string; readonly payload: string; readonly retained?: boolean }
  /** A value whose channel is already known: a row of a file, a msg on a wire. `value` and `time` are still unchecked. */
  | { readonly kind: 'value'; readonly channel: string; readonly value: unknown; readonly time?: unknown; readonly unit?: string }
  /** A user's own feature that goes straight to a chart. */
  | { readonly kind: 'feature'; readonly feature: string; readonly timeMs: number; readonly value: number }
  | { readonly kind: 'reply'; readonly reply: SuggestionReply }
  | { readonly kind: 'record'; readonly record: WorkRecord }
  /** A round, a step of a job, a correction, a word on settings on hold or on what changed. */
  | { readonly kind: 'entry'; readonly entry: MaintenanceEntry }
  | { readonly kind: 'baseline'; readonly feature: string; readonly recipe?: string; readonly decision: 'accept' | 'reject' | 'refit'; readonly by?: string; readonly reason?: string }
  | { readonly kind: 'stages'; readonly stages: readonly Stage[] }
  | { readonly kind: 'definition'; readonly definition: LineDefinition }
  /** Names of people from before `beforeMs`, ms UTC, leave the line's state; nothing else changes. */
  | { readonly kind: 'forget-names'; readonly beforeMs: number }
  /** End of a file: windows still open are closed, held readings released. */
  | { readonly kind: 'end-of-data' }
