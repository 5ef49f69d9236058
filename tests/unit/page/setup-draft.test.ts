import fc from 'fast-check'
import { describe, expect, it } from 'vitest'

interface SetupDraft {
  valueAt(draft: unknown, path: string): unknown
  withValue(draft: Record<string, unknown>, path: string, value: unknown): Record<string, unknown>
  faultsAt(faults: { path: string; message: string }[], path: string): { path: string }[]
  valueInPayload(payload: string): { path: string; value: string } | undefined
  timeInPayload(payload: string): { time?: string }
}

/** The page is compiled for the browser, so it is loaded by its address and not by the compiler. */
const { valueAt, withValue, faultsAt, timeInPayload, valueInPayload } = (await import(new URL('../../../src/page/setup-draft.ts', import.meta.url).href)) as SetupDraft

describe('a line definition being written', () => {
  it('takes values at paths and leaves all else as it was', () => {
    const draft = { line: 'a', machine: { zones: [{}, { kind: 'radiant' }] } }
    const next = withValue(withValue(draft, 'machine.zones[0].kind', 'convection'), 'costs.currency', 'EUR')
    expect(next).toEqual({ line: 'a', machine: { zones: [{ kind: 'convection' }, { kind: 'radiant' }] }, costs: { currency: 'EUR' } })
    expect(draft).toEqual({ line: 'a', machine: { zones: [{}, { kind: 'radiant' }] } })
    expect(valueAt(next, 'machine.zones[1].kind')).toBe('radiant')
    expect(valueAt(next, 'machine.pot.levelBandMm')).toBeUndefined()
  })

  it('drops what was emptied, so that no key without a meaning is left', () => {
    expect(withValue({ line: 'a', costs: { currency: 'EUR' } }, 'costs.currency', undefined)).toEqual({ line: 'a' })
    expect(withValue({ line: 'a', costs: { currency: 'EUR', labourPerHour: 4 } }, 'costs.currency', undefined)).toEqual({ line: 'a', costs: { labourPerHour: 4 } })
    expect(withValue({ channels: [{ channel: 'pot.level', unit: 'mm' }] }, 'channels[0].unit', undefined)).toEqual({ channels: [{ channel: 'pot.level' }] })
  })

  it('gives back what was put in, wherever that is', () => {
    const name = fc.constantFrom('a', 'b', 'zones[0]', 'zones[2]', 'c')
    fc.assert(
      fc.property(fc.array(name, { minLength: 1, maxLength: 4 }), fc.oneof(fc.integer(), fc.string({ minLength: 1 }), fc.boolean()), (parts, value) => {
        const path = parts.join('.')
        expect(valueAt(withValue({ kept: 1 }, path, value), path)).toBe(value)
        expect(withValue({ kept: 1 }, path, value)['kept']).toBe(1)
      }),
    )
  })

  it('shows a fault at its field and at the part around it, and nowhere else', () => {
    const faults = [{ path: 'channels[1].unit', message: 'x' }, { path: 'line', message: 'y' }]
    expect(faultsAt(faults, 'channels[1].unit')).toHaveLength(1)
    expect(faultsAt(faults, 'channels[1]')).toHaveLength(1)
    expect(faultsAt(faults, 'channels[10]')).toHaveLength(0)
    expect(faultsAt(faults, 'lines')).toHaveLength(0)
  })

  it('finds the value in what a broker carries', () => {
    expect(valueInPayload(' 181.5 ')).toEqual({ path: '', value: '181.5' })
    expect(valueInPayload('{"t":1700000000000,"v":181.53}')).toEqual({ path: 'v', value: '181.53' })
    expect(valueInPayload('{"meta":{"seq":4},"data":{"ts":5,"value":2,"other":3}}')).toEqual({ path: 'data.value', value: '2' })
    expect(valueInPayload('online')).toBeUndefined()
    expect(valueInPayload('{"text":"x"}')).toBeUndefined()
  })

  it('finds the time in what a broker carries, where something is called so', () => {
    expect(timeInPayload('{"t":1700000000000,"v":181.53}')).toEqual({ time: 't' })
    expect(timeInPayload('{"meta":{"seq":4},"data":{"timestamp":"2026-01-05T06:00:00Z","value":2}}')).toEqual({ time: 'data.timestamp' })
    expect(timeInPayload('{"v":2,"time":{"zone":"UTC"}}')).toEqual({})
    expect(timeInPayload('181.5')).toEqual({})
    expect(timeInPayload('not json')).toEqual({})
  })
})
