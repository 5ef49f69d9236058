import { readFileSync } from 'node:fs'
import { parse } from 'csv-parse/sync'
import { describe, expect, it } from 'vitest'
import { BENIGN_IDS, FAULT_IDS } from '../../src/line/causes.js'
import { cellEvidence, EFFECT_CODES, FAULT_TABLE, MATRIX_COLUMNS, matrixRow } from '../../src/line/diagnosis/fault-table.js'

const csv = parse(readFileSync(new URL('../../fixtures/process-matrix.csv', import.meta.url), 'utf8'), { columns: true }) as Record<string, string>[]

describe('fault table against fixtures/process-matrix.csv', () => {
  it('has the same columns and rows in the same order', () => {
    expect(Object.keys(csv[0]!)).toEqual(['id', 'name', 'section', 'time_scale', ...MATRIX_COLUMNS])
    expect(FAULT_TABLE.map((row) => row.id)).toEqual(csv.map((row) => row['id']))
  })

  it.each(csv.map((row) => [row['id']!, row] as const))('%s: every cell is equal', (id, source) => {
    const row = FAULT_TABLE.find((candidate) => candidate.id === id)!
    expect([row.name, row.section, row.timeScale]).toEqual([source['name'], source['section'], source['time_scale']])
    for (const column of MATRIX_COLUMNS) expect(`${column}: ${row.cells[column]?.text ?? '0'}`).toBe(`${column}: ${source[column]}`)
  })

  it.each(FAULT_TABLE.map((row) => [row.id, row] as const))('%s: the effects hold every code of the cell texts', (_id, row) => {
    for (const column of MATRIX_COLUMNS) {
      const cell = row.cells[column]
      if (cell === undefined || column === 'D') continue
      for (const [, code, strength] of cell.text.matchAll(/\b(HF V|LF V|[MVTRPJS])[+-]?([123])\b/g)) {
        const plain = code!.split(' ')[0]!
        const found = cell.effects.some((effect) => effect.code === plain && (effect.strength === Number(strength) || effect.direction === 'either'))
        expect(found, `${row.id} ${column}: ${code}${strength} of "${cell.text}"`).toBe(true)
      }
    }
  })

  it('keeps signs: an effect that is up in the text is not down in the data', () => {
    for (const row of FAULT_TABLE) {
      for (const column of MATRIX_COLUMNS) {
        if (column === 'D') continue
        for (const effect of row.cells[column]?.effects ?? []) {
          const sign = effect.direction === 'up' ? '-' : effect.direction === 'down' ? '+' : undefined
          if (sign === undefined || !EFFECT_CODES.slice(0, 7).includes(effect.code)) continue
          const contrary = new RegExp(`(^|[ ;(])${effect.code}\\${sign}${effect.strength}`)
          const own = new RegExp(`(^|[ ;(])${effect.code}\\${sign === '-' ? '+' : '-'}${effect.strength}`)
          const text = row.cells[column]!.text
          expect(contrary.test(text) && !own.test(text), `${row.id} ${column} ${effect.code} in "${text}"`).toBe(false)
        }
      }
    }
  })

  it('has a row for every fault and benign cause, and no other', () => {
    expect(FAULT_TABLE.map((row) => row.cause).sort()).toEqual([...FAULT_IDS, ...BENIGN_IDS].sort())
    expect(() => matrixRow('none' as never)).toThrow('no row for cause "none"')
  })

  it('tags what was run in a model, and only that', () => {
    expect(cellEvidence(matrixRow('clogged-blower'), 'Tb')).toBe('SIM')
    expect(cellEvidence(matrixRow('clogged-blower'), 'Ib')).toBe('CP')
    expect(cellEvidence(matrixRow('dry-chain'), 'Im')).toBe('SIM')
    expect(cellEvidence(matrixRow('worn-bearing'), 'Im')).toBe('CP')
  })
})
