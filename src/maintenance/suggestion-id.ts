const FNV_OFFSET = 0xcbf29ce484222325n
const FNV_PRIME = 0x100000001b3n
const MASK_64 = 0xffffffffffffffffn

/** FNV-1a, 64 bits, over the UTF-16 units of a text (public domain hash; check value: empty text gives cbf29ce484222325). */
export function fnv1a64(text: string): bigint {
  let hash = FNV_OFFSET
  for (let index = 0; index < text.length; index += 1) {
    hash ^= BigInt(text.charCodeAt(index))
    hash = (hash * FNV_PRIME) & MASK_64
  }
  return hash
}

/**
 * Id of a suggestion: the same line, leading cause, zone and raise time in the data's own time give the same id, live
 * and in replay.
 */
export function suggestionId(line: string, cause: string, zone: number | undefined, raisedMs: number): string {
  return `s-${fnv1a64([line, cause, zone ?? '', raisedMs].join('|')).toString(36).padStart(13, '0')}`
}

/** Short form for the shop floor, to be read out and written on a tag: six letters and digits. */
export function shortCode(id: string): string {
  return id.slice(-6).toUpperCase()
}
