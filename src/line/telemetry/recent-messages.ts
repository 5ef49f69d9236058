/** Fingerprints of the newest messages, a ring: plain JSON. */
export interface RecentMessagesState {
  readonly fingerprints: number[]
  /** Where the next one goes once the ring is full. */
  next: number
}

/** Tells a message that came a short while ago from a new one. */
export interface RecentMessages {
  /** Notes a message; true if the same topic and payload are among the newest. */
  isRepeat(topic: string, payload: string): boolean
  snapshot(): RecentMessagesState
}

/** Messages a broker may have under way without an acknowledgement, and so sends again after a break. */
const RECENT_MAX = 1_000
const FNV_OFFSET = 0x811c9dc5
const FNV_PRIME = 0x01000193

/** @param from what `snapshot()` gave; taken over */
export function createRecentMessages(from?: RecentMessagesState): RecentMessages {
  const state = from ?? { fingerprints: [], next: 0 }
  const known = new Set(state.fingerprints)
  return {
    isRepeat(topic, payload) {
      const fingerprint = fnv(fnv(FNV_OFFSET, topic), payload)
      if (known.has(fingerprint)) return true
      known.add(fingerprint)
      const { fingerprints } = state
      if (fingerprints.length < RECENT_MAX) fingerprints.push(fingerprint)
      else {
        known.delete(fingerprints[state.next] as number)
        fingerprints[state.next] = fingerprint
        state.next = (state.next + 1) % RECENT_MAX
      }
      return false
    },
    snapshot: () => ({ fingerprints: [...state.fingerprints], next: state.next }),
  }
}

/** FNV-1a, 32 bits, over the UTF-16 units of a text (public domain hash). */
function fnv(begin: number, text: string): number {
  let hash = begin
  for (let index = 0; index < text.length; index += 1) hash = Math.imul(hash ^ text.charCodeAt(index), FNV_PRIME) >>> 0
  return hash
}
