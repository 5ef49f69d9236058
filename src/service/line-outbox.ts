import type { LineDefinition } from '../line/line-definition.js'
import type { RejectionReason } from '../line/reading.js'
import type { Clock } from '../ports/clock.js'
import type { OutboxItem, StoredOutput } from '../ports/line-store.js'
import { outputText } from './output-json.js'

/** A rejected reading of one reason and place is republished once in this time, not each one. */
const REJECTED_EVERY_MS = 60_000
const REJECTED_PLACES_MAX = 500

/**
 * What of a line's outputs must leave by MQTT and webhook: suggestions, and rejected readings limited in rate. (The
 * retained state is not a message but a present value; the site publishes it anew when it changes.)
 *
 * An item's id is made from the output's place in the journal, so that a receiver recognises a repeat.
 *
 * @param options.mqtt whether the line has a broker; without one nothing would ever fetch its messages
 */
export function lineOutbox(definition: LineDefinition, clock: Clock, options: { readonly mqtt: boolean }): (stored: StoredOutput) => readonly OutboxItem[] {
  const root = `${definition.topicRoot}/${definition.line}`
  const webhook = definition.suggestions?.webhook
  const lastRejected = new Map<string, number>()

  function rejectedIsDue(reason: RejectionReason, where: string): boolean {
    const key = lastRejected.size < REJECTED_PLACES_MAX ? `${reason} ${where}` : reason
    const nowMs = clock.nowMs()
    if (nowMs - (lastRejected.get(key) ?? 0) < REJECTED_EVERY_MS) return false
    lastRejected.set(key, nowMs)
    return true
  }

  return (stored) => {
    const { output, line, seq, ordinal } = stored
    const item = (destination: OutboxItem['destination'], target: string, retain: boolean): OutboxItem => ({
      id: `${line}:${seq}:${ordinal}:${destination}`,
      line,
      destination,
      target,
      payload: outputText(output),
      retain,
      createdMs: clock.nowMs(),
    })
    switch (output.kind) {
      case 'suggestion':
        return [...(options.mqtt ? [item('mqtt', `${root}/suggestions`, false)] : []), ...(webhook === undefined ? [] : [item('webhook', webhook, false)])]
      case 'rejected':
        return options.mqtt && rejectedIsDue(output.body.reason, output.body.where) ? [item('mqtt', `${root}/rejected`, false)] : []
      default:
        return []
    }
  }
}
