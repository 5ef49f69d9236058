import { describe, expect, test } from 'vitest'
import { CHANNEL_KINDS, channelConversion, channelKindOf, type ChannelKind } from '../../../src/line/channels.js'
import { convertUnit, unitConversion, unitNamesFor, type BaseUnit } from '../../../src/line/units.js'

describe('conversion to base units', () => {
  test.each<[number, string, BaseUnit, number]>([
    [212, '°F', '°C', 100],
    [-40, 'degF', '°C', -40],
    [373.15, 'K', '°C', 100],
    [1.2, 'm/min', 'mm/s', 20],
    [120, 'cm / min', 'mm/s', 20],
    [1, 'ft/min', 'mm/s', 5.08],
    [1, 'IPM', 'mm/s', 25.4 / 60],
    [14.503773773, 'psi', 'bar', 1],
    [100, 'kPa', 'bar', 1],
    [1, 'bar', 'Pa', 100_000],
    [250, 'Pa', 'bar', 0.0025],
    [1, 'inH2O', 'Pa', 249.08891],
    [0.5, 'in', 'mm', 12.7],
    [0.6, 'L/h', 'mL/min', 10],
    [750, 'mA', 'A', 0.75],
    [0.4, 'share', '%', 40],
  ])('%d %s in %s is %d', (value, unit, base, expected) => {
    const result = convertUnit(value, unit, base)
    expect(result.kind === 'value' ? result.value : result.expected).toBeCloseTo(expected, 9)
  })

  test('look-alike signs are read', () => {
    expect(unitConversion('ºC', '°C')).toMatchObject({ factor: 1 })
    expect(unitConversion('℉', '°C')).toMatchObject({ factor: 5 / 9 })
  })

  test('another quantity, nonsense and inherited names are unknown, with what would do', () => {
    expect(convertUnit(1, 'psi', '°C')).toEqual({ kind: 'unknown-unit', expected: unitNamesFor('°C').join(', ') })
    expect(convertUnit(1, 'furlong', 'mm/s').kind).toBe('unknown-unit')
    expect(convertUnit(1, 'constructor', 'mm').kind).toBe('unknown-unit')
    expect(convertUnit(1, '__proto__', 'mm').kind).toBe('unknown-unit')
  })
})

describe('channels', () => {
  test('ids are matched whole, zones from 1 to 99', () => {
    expect(channelKindOf('preheat.zone-2.temperature')).toMatchObject({ zone: 2, channelKind: { unit: '°C', minimum: true } })
    expect(channelKindOf('board.defects.bridge')?.channelKind.arrival).toBe('delayed')
    for (const wrong of ['preheat.zone-0.temperature', 'preheat.zone-100.temperature', 'preheat.zone-01.temperature', 'preheat.zone-1.temperature.x', 'board.defects.', 'board.defects.Bridge', 'toString', '']) expect(channelKindOf(wrong)).toBeUndefined()
  })

  test('zones, speed and level are the minimum; ranges are proper; no pattern fits another\'s ids', () => {
    expect(CHANNEL_KINDS.filter(({ minimum }) => minimum).map(({ pattern }) => pattern)).toEqual(['preheat.zone-<n>.temperature', 'conveyor.speed', 'pot.level'])
    for (const kind of CHANNEL_KINDS) {
      if (kind.valueType === 'number') expect(kind.possibleMin).toBeLessThan(kind.possibleMax)
      const id = kind.pattern.replace('<n>', '3').replace(/<(kind|name)>/, 'abc')
      expect(channelKindOf(id)?.channelKind).toBe(kind)
    }
  })

  test('the codes of a broken temperature sensor lie outside its range', () => {
    const { possibleMin, possibleMax } = channelKindOf('preheat.zone-1.temperature')?.channelKind as ChannelKind
    for (const code of [0, 850, -200]) expect(code < possibleMin || code > possibleMax).toBe(true)
  })

  test('a wave pump may be given in rpm, kept as it is; a channel without a unit takes any', () => {
    const pump = channelKindOf('pot.pump-speed')?.channelKind as ChannelKind
    expect(channelConversion(pump, 'RPM')).toEqual({ kind: 'conversion', factor: 1, offset: 0 })
    expect(channelConversion(pump, 'bar')).toMatchObject({ kind: 'unknown-unit' })
    expect(channelConversion(channelKindOf('custom.torque')?.channelKind as ChannelKind, 'N m')).toMatchObject({ kind: 'conversion', factor: 1 })
  })
})
