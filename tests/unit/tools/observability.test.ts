import { readFileSync } from 'node:fs'
import { parse } from 'csv-parse/sync'
import { describe, expect, it } from 'vitest'
import { SIMULATED_FAULTS, type SimulatedFault } from '../../../src/simulator/simulation-causes.js'
import { invisibleOn, movedKinds, observabilityOf, STRENGTHS, type ObservingLine } from '../../../src/tools/detect/observability.js'

const rows = parse(readFileSync(new URL('../../../fixtures/process-matrix.csv', import.meta.url), 'utf8'), { columns: true }) as Record<string, string>[]
const ROW_OF: Readonly<Record<SimulatedFault, string>> = {
  'clogged-nozzle': 'F01', 'misoriented-nozzle': 'F02', 'leaking-seal': 'F03', 'saturated-filter': 'F04', 'bad-flux-hose': 'F05', 'dosing-off': 'F06', 'stroke-too-wide': 'F07', 'clogged-blower': 'F08', 'coated-emitter': 'F09',
  'blocked-vents': 'F10', 'coated-thermocouple': 'F11', 'dirty-rails': 'F12', 'dirty-chain': 'F13', 'dry-chain': 'F14', 'sticky-grease': 'F15', 'residue-on-fingers': 'F16', 'worn-sprocket': 'F17a', 'worn-bearing': 'F17b',
  'worn-drive': 'F17c', 'low-level': 'F18', 'dross-at-intake': 'F19', 'drifting-pot-probe': 'F20', 'ageing-element': 'F21',
}
const COLUMN_OF: Readonly<Record<string, string>> = {
  'fluxer.flow': 'Qf', 'fluxer.pressure': 'Pf', 'fluxer.per-board': 'Cf', 'preheat.duty': 'Uz', 'preheat.blower-current': 'Ib', 'board.topside-temperature': 'Tb', 'board.defects': 'D', 'conveyor.current': 'Im', 'pot.temperature': 'Tp', 'pot.duty': 'Up',
  'pot.pump-speed': 'np', 'pot.wave-height': 'hw',
}
/** Cells whose strength is another than their largest digit, and why. */
const OTHERWISE: readonly string[] = [
  'blocked-vents board.topside-temperature', // the 2 is the spread across the width, which one sensor cannot see
]
const minimum = (speedSensor: 'chain' | 'motor'): ObservingLine => ({ channels: ['preheat.zone-1.temperature', 'conveyor.speed', 'pot.level'], speedSensor, speedPeriodS: 1 })

describe('what a line can show of a fault', () => {
  it('strengths are those of the symptom matrix', () => {
    let compared = 0
    for (const [cause, strengths] of Object.entries(STRENGTHS)) {
      const row = rows.find(({ id }) => id === ROW_OF[cause as SimulatedFault])!
      for (const [kind, strength] of Object.entries(strengths)) {
        const column = COLUMN_OF[kind]
        if (column === undefined || OTHERWISE.includes(`${cause} ${kind}`)) continue
        const digits = [...row[column]!.matchAll(/(?<=^|[\s/;,MVTRPJS])(?:\+\/-|[+-])?([0-3])(?=[\s,;)/]|$)/g)].map((match) => Number(match[1]))
        expect(Math.max(...digits), `${cause} ${kind}: ${row[column]}`).toBe(strength)
        compared += 1
      }
    }
    expect(compared).toBeGreaterThan(50)
  })

  it('temperatures, speed and level: the list of the process knowledge', () => {
    const seen = (Object.keys(SIMULATED_FAULTS) as SimulatedFault[]).filter((cause) => observabilityOf({ cause, zone: 1 }, minimum('chain')) === 'observable')
    expect(seen.sort()).toEqual(['ageing-element', 'coated-thermocouple', 'dirty-chain', 'dirty-rails', 'dry-chain', 'low-level', 'sticky-grease', 'worn-bearing', 'worn-drive', 'worn-sprocket'])
    expect(observabilityOf({ cause: 'dirty-chain' }, minimum('motor'))).toBe('weak')
    expect(observabilityOf({ cause: 'dirty-chain' }, { ...minimum('chain'), speedPeriodS: 10 })).toBe('weak')
    expect(observabilityOf({ cause: 'ageing-element' }, minimum('chain'))).toBe('invisible')
    expect(invisibleOn(minimum('chain'))).toEqual(expect.arrayContaining(['clogged-nozzle', 'clogged-blower', 'residue-on-fingers', 'drifting-pot-probe']))
  })

  it('a channel more shows what it is for', () => {
    const withChannel = (...channels: string[]): ObservingLine => ({ ...minimum('motor'), channels: [...minimum('motor').channels, ...channels] })
    expect(observabilityOf({ cause: 'clogged-blower', zone: 1 }, withChannel('preheat.zone-1.blower-current'))).toBe('observable')
    expect(observabilityOf({ cause: 'worn-bearing' }, withChannel('conveyor.current'))).toBe('observable')
    expect(observabilityOf({ cause: 'dosing-off', variant: 'gap' }, withChannel('fluxer.flow', 'fluxer.spray-on', 'board.count'))).toBe('observable')
    expect(observabilityOf({ cause: 'dosing-off', variant: 'narrow-fan' }, withChannel('fluxer.flow', 'fluxer.spray-on', 'board.count'))).toBe('weak')
    expect(observabilityOf({ cause: 'ageing-element' }, withChannel('preheat.zone-1.duty'))).toBe('invisible')
    expect(observabilityOf({ cause: 'ageing-element' }, withChannel('pot.duty'))).toBe('observable')
    expect(movedKinds('blocked-vents').has('preheat.blower-current')).toBe(false)
  })
})
