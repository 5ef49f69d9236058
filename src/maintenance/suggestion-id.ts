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

/**
 * Signs of a card's code: none that is mistaken for another on a smeared card or in handwriting (0 O Q D, 1 I L 7, 2 Z,
 * 5 S, 8 B, 6 G, U V Y: at most one of each stands here), and no A, E, I, O, U, so that no code is a word.
 */
const CODE_SIGNS = '34679BCDFHJKMNPRTWXY'
const CODE_LENGTH = 6

/** What is read or typed in place of a sign that is on the card. */
const LOOK_ALIKE: Readonly<Record<string, string>> = { '0': 'D', O: 'D', Q: 'D', '1': '7', I: '7', L: '7', '8': 'B', G: '6', U: 'Y', V: 'Y' }

/** Short form for the shop floor, to be read out, written on a tag and typed in: six signs that are not mistaken for each other. */
export function shortCode(id: string): string {
  let rest = fnv1a64(id)
  let code = ''
  for (let place = 0; place < CODE_LENGTH; place += 1) {
    code += CODE_SIGNS[Number(rest % BigInt(CODE_SIGNS.length))]!
    rest /= BigInt(CODE_SIGNS.length)
  }
  return code
}

/**
 * Whether somebody who typed this means the card of an id: in small or large letters, with blanks or hyphens, and with
 * signs that look like those of the card. Cards printed before codes had signs of their own carry the end of the id.
 */
export function isCodeOf(id: string, typed: string): boolean {
  const plain = typed.replaceAll(/[\s-]/g, '').toUpperCase()
  if (plain.length !== CODE_LENGTH) return false
  if (plain === id.slice(-CODE_LENGTH).toUpperCase()) return true
  return [...plain].map((sign) => LOOK_ALIKE[sign] ?? sign).join('') === shortCode(id)
}
