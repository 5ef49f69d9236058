/** Where a text stops being JSON, and what stands there. Line and column count from 1. */
export interface JsonFault {
  readonly line: number
  readonly column: number
  readonly message: string
}

/**
 * Reads JSON that a person wrote.
 *
 * @param text a byte order mark at its start is passed over
 * @returns the value, or the first place where the text is no JSON
 */
export function parseJsonText(text: string): { readonly kind: 'value'; readonly value: unknown } | { readonly kind: 'fault'; readonly fault: JsonFault } {
  const plain = text.replace(/^\uFEFF/, '')
  try {
    return { kind: 'value', value: JSON.parse(plain) as unknown }
  } catch (error) {
    return { kind: 'fault', fault: jsonFault(plain) ?? { line: 1, column: 1, message: error instanceof Error ? error.message : String(error) } }
  }
}

/** The first place of `text` that is against the grammar of JSON (RFC 8259): JSON.parse tells it only for some faults. */
function jsonFault(text: string): JsonFault | undefined {
  // Without recursion, so that no depth of brackets can break it.
  const open: ('{' | '[')[] = []
  let expected: 'value' | 'value-or-end' | 'name' | 'name-or-end' | 'colon' | 'after' = 'value'
  let at = skipSpace(text, 0)
  for (; at < text.length; at = skipSpace(text, at)) {
    const character = text[at]!
    const inside = open.at(-1)
    if (expected === 'after') {
      if (inside === undefined) return faultAt(text, at, 'expected the end of the text')
      if (character === ',') expected = inside === '{' ? 'name' : 'value'
      else if (character === CLOSING[inside]) open.pop()
      else return faultAt(text, at, `expected "," or "${CLOSING[inside]}"`)
      at += 1
    } else if (expected === 'colon') {
      if (character !== ':') return faultAt(text, at, 'expected ":"')
      expected = 'value'
      at += 1
    } else if ((expected === 'value-or-end' || expected === 'name-or-end') && inside !== undefined && character === CLOSING[inside]) {
      open.pop()
      expected = 'after'
      at += 1
    } else if (expected === 'name' || expected === 'name-or-end') {
      if (character !== '"') return faultAt(text, at, 'expected a name in double quotes')
      const end = stringEnd(text, at)
      if (end.fault !== undefined) return faultAt(text, end.at, end.fault)
      expected = 'colon'
      at = end.at
    } else if (character === '{' || character === '[') {
      open.push(character)
      expected = character === '{' ? 'name-or-end' : 'value-or-end'
      at += 1
    } else {
      const end = character === '"' ? stringEnd(text, at) : wordEnd(text, at)
      if (end.fault !== undefined) return faultAt(text, end.at, end.fault)
      expected = 'after'
      at = end.at
    }
  }
  const inside = open.at(-1)
  if (inside !== undefined) return faultAt(text, at, `the text ends, but a "${inside}" is still open`)
  return expected === 'after' ? undefined : faultAt(text, at, 'the text is empty')
}

const CLOSING = { '{': '}', '[': ']' } as const

interface End {
  readonly at: number
  readonly fault?: string
}

function skipSpace(text: string, from: number): number {
  const space = /[ \t\r\n]*/y
  space.lastIndex = from
  space.test(text)
  return space.lastIndex
}

function stringEnd(text: string, from: number): End {
  let at = from + 1
  while (at < text.length) {
    const character = text[at]!
    if (character === '"') return { at: at + 1 }
    if (character < ' ') return { at, fault: 'a string ends in its line with a double quote; a control character is written as \\n or \\u001f' }
    if (character !== '\\') at += 1
    else if (/^(["\\/bfnrt]|u[0-9a-fA-F]{4})/.test(text.slice(at + 1, at + 6))) at += 2
    else return { at, fault: 'after a backslash expected one of " \\ / b f n r t, or u and four hexadecimal digits' }
  }
  return { at: from, fault: 'a string begins here and has no closing double quote' }
}

/** A number, true, false or null. */
function wordEnd(text: string, from: number): End {
  const word = /true|false|null|-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?/y
  word.lastIndex = from
  return word.test(text) ? { at: word.lastIndex } : { at: from, fault: 'expected a value: a text in double quotes, a number, true, false, null, "{" or "["' }
}

function faultAt(text: string, at: number, message: string): JsonFault {
  const before = text.slice(0, at)
  const found = text.slice(at, at + 20).split(/[\r\n]/)[0]!
  return { line: before.split('\n').length, column: at - before.lastIndexOf('\n'), message: found === '' ? message : `${message}, found ${found}` }
}
