import { describe, expect, test } from 'vitest'
import { parseLineDefinition, type LineDefinition } from '../../../../src/line/line-definition.js'
import { compileBinding } from '../../../../src/line/telemetry/channel-binding.js'

function define(input: unknown): LineDefinition {
  const result = parseLineDefinition(input)
  if (result.kind === 'faults') throw new Error(JSON.stringify(result.faults))
  return result.definition
}

describe('filters', () => {
  test('without declared channels one filter brings the standard topics', () => {
    expect(compileBinding(define({ line: 'line-a', topicRoot: 'site/hall-2' })).filters).toEqual(['site/hall-2/line-a/telemetry/#'])
  })

  test('named parts become wildcards, doubles and covered filters are left out', () => {
    const channels = [
      { channel: 'preheat.zone-{n}.temperature', topic: 'plant/zone/{n}/t' },
      { channel: 'preheat.zone-1.temperature', topic: 'plant/zone/1/t' },
      { channel: 'conveyor.speed', topic: 'drive/#' },
      { channel: 'conveyor.current', topic: 'drive/current' },
      { channel: 'pot.level', topic: 'wave-solder/line-a/telemetry/level' },
      { channel: 'pot.duty' },
    ]
    expect(compileBinding(define({ line: 'line-a', channels })).filters).toEqual(['plant/zone/+/t', 'drive/#', 'wave-solder/line-a/telemetry/#'])
  })
})

describe('channels', () => {
  test('periods and lateness come from the definition, else from the list; the largest bound holds for the line', () => {
    const binding = compileBinding(define({ line: 'line-a', channels: [{ channel: 'conveyor.speed', periodS: 10 }, { channel: 'pot.level', latenessS: 300 }, { channel: 'board.defects.{kind}', topic: 'd/{kind}' }] }))
    expect(binding.channelOf('conveyor.speed')).toMatchObject({ periodMs: 10_000, latenessMs: 20_000 })
    expect(binding.latenessMs).toBe(300_000)
    expect(binding.channelOf('pot.duty')).toBeUndefined()
    expect(compileBinding(define({ line: 'line-a' })).latenessMs).toBe(120_000)
    expect(compileBinding(define({ line: 'line-a', channels: [{ channel: 'conveyor.speed', periodS: 0.1 }] })).latenessMs).toBe(2000)
  })

  test('zones beyond the machine are unknown', () => {
    const binding = compileBinding(define({ line: 'line-a', machine: { zones: [{}, {}] } }))
    expect(binding.channelOf('preheat.zone-2.temperature')?.zone).toBe(2)
    expect(binding.channelOf('preheat.zone-3.temperature')).toBeUndefined()
  })

  test('a literal entry before a wildcard decides how a shared topic is read', () => {
    const channels = [{ channel: 'preheat.zone-1.temperature', topic: 'z/1', unit: '°F' }, { channel: 'preheat.zone-{n}.temperature', topic: 'z/{n}' }]
    const match = compileBinding(define({ line: 'line-a', channels })).match('z/1')
    expect(match).toMatchObject({ kind: 'channels', bounds: [{ channel: 'preheat.zone-1.temperature', factor: 5 / 9 }] })
  })

  test('what explains sorts before what is measured at the same time', () => {
    const binding = compileBinding(define({ line: 'line-a' }))
    const ids = ['conveyor.speed', 'preheat.zone-2.temperature', 'line.recipe', 'preheat.zone-1.temperature', 'preheat.zone-1.setpoint']
    const sorted = [...ids].sort((one, other) => (binding.channelOf(one)?.rank ?? 0) - (binding.channelOf(other)?.rank ?? 0))
    expect(sorted).toEqual(['preheat.zone-1.setpoint', 'line.recipe', 'preheat.zone-1.temperature', 'preheat.zone-2.temperature', 'conveyor.speed'])
  })

  test('a named part that no level of the topic fills is a fault of the definition', () => {
    expect(parseLineDefinition({ line: 'line-a', channels: [{ channel: 'preheat.zone-{n}.temperature', topic: 'z/+' }] })).toMatchObject({ kind: 'faults', faults: [{ path: 'channels[0].topic' }] })
  })
})

describe('topics', () => {
  test('a wildcard at the front does not fit the broker\'s own topics', () => {
    const binding = compileBinding(define({ line: 'line-a', channels: [{ channel: 'pot.level', topic: '#' }] }))
    expect(binding.match('$SYS/uptime').kind).toBe('unknown-topic')
    expect(binding.match('anything/else').kind).toBe('channels')
    expect(binding.match('wave-solder/line-a/suggestions').kind).toBe('own')
  })
})
