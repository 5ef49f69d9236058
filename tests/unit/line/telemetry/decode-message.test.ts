import { readdirSync, readFileSync } from 'node:fs'
import { describe, expect, test } from 'vitest'
import { parseLineDefinition, type LineDefinition } from '../../../../src/line/line-definition.js'
import type { Reading, Rejection } from '../../../../src/line/reading.js'
import { compileBinding } from '../../../../src/line/telemetry/channel-binding.js'
import { decodeMessage, decodeValue, PAYLOAD_BYTES_MAX, type DecodeSink } from '../../../../src/line/telemetry/decode-message.js'

const CASES = new URL('../../../../fixtures/payloads/', import.meta.url)

interface PayloadCase {
  readonly title: string
  readonly definition: unknown
  readonly receivedMs: number
  readonly messages: readonly { readonly topic: string; readonly payload: string; readonly retained?: boolean }[]
  readonly readings: readonly Reading[]
  readonly rejections: readonly { readonly reason: string; readonly where: string; readonly found?: string }[]
}

function define(input: unknown): LineDefinition {
  const result = parseLineDefinition(input)
  if (result.kind === 'faults') throw new Error(JSON.stringify(result.faults))
  return result.definition
}

function collect(): DecodeSink & { readonly readings: Reading[]; readonly rejections: Rejection[] } {
  const readings: Reading[] = []
  const rejections: Rejection[] = []
  return { readings, rejections, take: (reading) => readings.push(reading), reject: (rejection) => rejections.push(rejection) }
}

describe('payload cases', () => {
  for (const name of readdirSync(CASES).filter((file) => file.endsWith('.json'))) {
    const payloadCase = JSON.parse(readFileSync(new URL(name, CASES), 'utf8')) as PayloadCase
    test(`${name}: ${payloadCase.title}`, () => {
      const binding = compileBinding(define(payloadCase.definition))
      const sink = collect()
      for (const message of payloadCase.messages) decodeMessage(binding, { ...message, receivedMs: payloadCase.receivedMs }, sink)
      expect(sink.readings.map((reading) => ({ ...reading, value: typeof reading.value === 'number' ? Number(reading.value.toFixed(9)) : reading.value }))).toEqual(payloadCase.readings)
      expect(sink.rejections.map(({ reason, where }) => ({ reason, where }))).toEqual(payloadCase.rejections.map(({ reason, where }) => ({ reason, where })))
      payloadCase.rejections.forEach((wanted, index) => {
        if (wanted.found !== undefined) expect(sink.rejections[index]?.found).toBe(wanted.found)
        expect(sink.rejections[index]?.expected).not.toBe('')
      })
    })
  }
})

describe('limits of a message', () => {
  const binding = compileBinding(define({ line: 'line-a' }))
  const topic = 'wave-solder/line-a/telemetry/line.recipe'

  test('a payload of more than 256 KiB is refused unread, by its bytes and not its characters', () => {
    const sink = collect()
    decodeMessage(binding, { topic, payload: 'x'.repeat(PAYLOAD_BYTES_MAX + 1), receivedMs: 0 }, sink)
    decodeMessage(binding, { topic, payload: 'é'.repeat(PAYLOAD_BYTES_MAX / 2 + 1), receivedMs: 0 }, sink)
    decodeMessage(binding, { topic, payload: `"${'x'.repeat(PAYLOAD_BYTES_MAX - 2)}"`, receivedMs: 0 }, sink)
    expect(sink.rejections.map(({ reason }) => reason)).toEqual(['oversize', 'oversize', 'impossible-value'])
  })

  test('what was found is shortened to 80 printable characters', () => {
    const sink = collect()
    decodeMessage(binding, { topic: 'wave-solder/line-a/telemetry/pot.level', payload: `\u0007${'y'.repeat(5000)}`, receivedMs: 0 }, sink)
    expect(sink.rejections[0]?.found).toHaveLength(80)
    expect(sink.rejections[0]?.found.startsWith(' yyy')).toBe(true)
  })

  test('a deeply nested payload is refused, not followed', () => {
    const sink = collect()
    decodeMessage(binding, { topic: 'wave-solder/line-a/telemetry/pot.level', payload: `{"v":${'['.repeat(100_000)}${']'.repeat(100_000)}}`, receivedMs: 0 }, sink)
    expect(sink.rejections.map(({ reason }) => reason)).toEqual(['unreadable-payload'])
  })

  test('a path never reaches inherited properties or the length of an array', () => {
    const sink = collect()
    const paths = compileBinding(define({ line: 'line-a', channels: [{ channel: 'pot.level', topic: 'a', payload: { value: 'list.length' } }, { channel: 'pot.duty', topic: 'a', payload: { value: 'toString' } }] }))
    decodeMessage(paths, { topic: 'a', payload: '{"list":[1,2,3]}', receivedMs: 0 }, sink)
    expect(sink.readings).toEqual([])
    expect(sink.rejections.map(({ reason }) => reason)).toEqual(['value-missing', 'value-missing'])
    const refused = parseLineDefinition({ line: 'line-a', channels: [{ channel: 'pot.level', topic: 'a', payload: { value: 'a.__proto__.b' } }] })
    expect(refused).toMatchObject({ kind: 'faults', faults: [{ path: 'channels[0].payload.value' }] })
  })
})

describe('values whose channel is known', () => {
  const binding = compileBinding(define({ line: 'line-a', timeZone: 'America/New_York', channels: [{ channel: 'conveyor.speed', unit: 'm/min' }, { channel: 'line.recipe' }, { channel: 'pot.pump-speed', unit: 'rpm' }] }))

  test.each([
    [{ channel: 'conveyor.speed', value: '1.2', time: '2026-01-05T08:00:00' }, { channel: 'conveyor.speed', timeMs: Date.UTC(2026, 0, 5, 13), value: 20 }],
    [{ channel: 'conveyor.speed', value: 1.2, unit: 'mm/s', time: 1767618000000 }, { channel: 'conveyor.speed', timeMs: Date.UTC(2026, 0, 5, 13), value: 1.2 }],
    [{ channel: 'line.recipe', value: ' B ' }, { channel: 'line.recipe', timeMs: 7, value: 'B' }],
    [{ channel: 'pot.pump-speed', value: 640 }, { channel: 'pot.pump-speed', timeMs: 7, value: 640 }],
  ])('%j is taken', (input, reading) => {
    const sink = collect()
    decodeValue(binding, { ...input, receivedMs: 7 }, sink)
    expect(sink.rejections).toEqual([])
    expect(sink.readings).toEqual([reading])
  })

  test.each([
    [{ channel: 'pot.level', value: 1 }, 'unknown-channel'],
    [{ channel: 'conveyor.speed', value: undefined }, 'value-missing'],
    [{ channel: 'conveyor.speed', value: Number.NaN }, 'not-finite'],
    [{ channel: 'conveyor.speed', value: 1, time: '' }, 'no-time'],
    [{ channel: 'conveyor.speed', value: 1, time: '2026-03-08 02:30' }, 'bad-time'],
    [{ channel: 'conveyor.speed', value: 1, unit: 'psi' }, 'unknown-unit'],
    [{ channel: 'conveyor.speed', value: 99 }, 'impossible-value'],
    [{ channel: 'conveyor.speed', value: { a: 1 } }, 'unreadable-payload'],
  ])('%j is refused as %s', (input, reason) => {
    const sink = collect()
    decodeValue(binding, { ...input, receivedMs: 7 }, sink)
    expect(sink.readings).toEqual([])
    expect(sink.rejections.map((rejection) => rejection.reason)).toEqual([reason])
  })
})
