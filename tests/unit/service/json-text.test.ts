import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { parseJsonText } from '../../../src/service/json-text.js'

function faultOf(text: string): string {
  const read = parseJsonText(text)
  return read.kind === 'value' ? 'none' : `${read.fault.line}:${read.fault.column} ${read.fault.message}`
}

describe('JSON that a person wrote', () => {
  it('is read, with a byte order mark as well', () => {
    expect(parseJsonText('\uFEFF{"line": [1, -2.5e3, "\\u00e9", true, null, {}, []]}')).toEqual({ kind: 'value', value: { line: [1, -2500, 'é', true, null, {}, []] } })
  })

  it.each([
    ['{\n  "line": "a"\n  "title": "b"\n}', '3:3 expected "," or "}", found "title": "b"'],
    ['{"a": 1,}', '1:9 expected a name in double quotes, found }'],
    ['{"a": }', '1:7 expected a value'],
    ['{"a" 1}', '1:6 expected ":", found 1}'],
    ["{'a': 1}", "1:2 expected a name in double quotes, found 'a': 1}"],
    ['[1, 2', '1:6 the text ends, but a "[" is still open'],
    ['[1, 2}', '1:6 expected "," or "]", found }'],
    ['', '1:1 the text is empty'],
    ['{} {}', '1:4 expected the end of the text, found {}'],
    ['{\n "a": "one\ntwo"}', '2:11 a string ends in its line'],
    ['{"a": "b}', '1:7 a string begins here and has no closing double quote'],
    ['{"a": "\\d"}', '1:8 after a backslash'],
    ['[01]', '1:3 expected "," or "]", found 1]'],
    ['[NaN]', '1:2 expected a value'],
    ['// no\n{}', '1:1 expected a value'],
  ])('is told where it is none: %j', (text, expected) => {
    expect(faultOf(text)).toContain(expected)
  })

  it('is told of at the place that was damaged, or behind it, whatever the text', () => {
    fc.assert(
      fc.property(fc.json({ maxDepth: 5 }), fc.nat(), fc.constantFrom('{', '}', '[', ']', ',', ':', '"', 'x', '\\', '\n', '-'), (json, seed, damage) => {
        const at = seed % (json.length + 1)
        const text = json.slice(0, at) + damage + json.slice(at)
        let good = true
        try {
          JSON.parse(text)
        } catch {
          good = false
        }
        const read = parseJsonText(text)
        expect(read.kind).toBe(good ? 'value' : 'fault')
        // The engine's own words would mean that the place was not found.
        if (read.kind === 'fault') expect(read.fault.message).not.toMatch(/JSON|token|position/i)
      }),
      { numRuns: 2000 },
    )
  })

  it('of great depth breaks nothing', () => {
    expect(faultOf('['.repeat(200_000))).toContain('1:200001 the text ends')
  })
})
