import { createHash } from 'node:crypto'

/** What a broker says of a message that carries neither an id nor a time of its own. */
export interface UnmarkedMessage {
  readonly topic: string
  readonly payload: string
  /** Packet identifier; absent with QoS 0. A message that is delivered again in the same session keeps it. */
  readonly messageId?: number | undefined
  /** The broker has sent it before [MQTT-3.3.1-1]. */
  readonly dup: boolean
  /** A step of a job or a reply: the same one may truly come again soon, after another. */
  readonly isStep: boolean
  /** Ids of messages that are being taken at this moment. */
  readonly underWay: ReadonlySet<string>
}

/** A message that was identified. Plain JSON; holds no text of the message. */
export interface KnownMessage {
  readonly print: string
  readonly messageId?: number
  /** By the wall clock, ms UTC. */
  readonly receivedMs: number
  /** Stands in it from now on, whenever it comes. */
  readonly id: string
  readonly timeMs: number
  /** It was taken or refused, and so acknowledged. */
  readonly settled?: true
}

/**
 * Two equal messages this close together are one that was sent again: the sender lost its connection before the broker's
 * answer came. [ASM: longer than the pauses between attempts of usual clients, shorter than doing the same work twice]
 */
const AGAIN_MS = 15 * 60_000
/** A broker keeps the session of an absent client so long at most. */
const SESSION_MS = 8 * 24 * 3_600_000
const KNOWN_MAX = 200

/**
 * Whose message this is: one that is known, or a new one. The broker delivers with QoS 1 at least once, so that the same
 * record may come twice; two equal records hours apart are two.
 *
 * @param known identified before, the oldest first
 * @param clockMs now by the wall clock, ms UTC
 * @param lineMs now by the line's own time, ms UTC: the time of a new message
 * @returns the identity, and what is to be kept before the message is taken: taken again under the same id it counts once
 */
export function identify(known: readonly KnownMessage[], message: UnmarkedMessage, clockMs: number, lineMs: number): { readonly identity: KnownMessage; readonly known: readonly KnownMessage[]; readonly isNew: boolean } {
  const print = createHash('sha256').update(`${message.topic}\n${message.payload}`).digest('hex').slice(0, 24)
  const before = deliveredBefore(known, message, print, clockMs) ?? sentBefore(known, message, print, clockMs)
  if (before !== undefined) return { identity: before, known, isNew: false }
  const identity: KnownMessage = { print, ...(message.messageId === undefined ? {} : { messageId: message.messageId }), receivedMs: clockMs, id: `mqtt-${print}-${clockMs.toString(36)}`, timeMs: lineMs }
  return { identity, known: [...known, identity].slice(-KNOWN_MAX), isNew: true }
}

/** A message of which it is known that the broker has no acknowledgement; or the newest under an identifier that comes again. */
function deliveredBefore(known: readonly KnownMessage[], { dup, messageId, underWay }: UnmarkedMessage, print: string, clockMs: number): KnownMessage | undefined {
  if (messageId === undefined) return undefined
  const open = known.findLast((one) => one.print === print && one.settled !== true && !underWay.has(one.id))
  const newest = dup ? known.findLast((one) => one.messageId === messageId) : undefined
  const before = open ?? (newest?.print === print ? newest : undefined)
  return before !== undefined && clockMs - before.receivedMs <= SESSION_MS ? before : undefined
}

/** The list with one message marked as acknowledged. */
export function settled(known: readonly KnownMessage[], id: string): readonly KnownMessage[] {
  return known.map((one) => (one.id === id ? { ...one, settled: true as const } : one))
}

/** The sender has sent it again, which the broker cannot know. */
function sentBefore(known: readonly KnownMessage[], { isStep }: UnmarkedMessage, print: string, clockMs: number): KnownMessage | undefined {
  const equal = isStep ? known.at(-1) : known.findLast((one) => one.print === print)
  return equal !== undefined && equal.print === print && clockMs - equal.receivedMs <= AGAIN_MS ? equal : undefined
}
