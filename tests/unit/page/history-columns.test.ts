import { describe, expect, it } from 'vitest'

interface Columns {
  previewOf(text: string): { columns: string[]; rows: string[][]; delimiter: string }
  timeColumnOf(preview: { columns: string[]; rows: string[][] }): string | undefined
  periodOf(preview: { columns: string[]; rows: string[][] }, timeColumn: string): number | undefined
  guessColumns(columns: string[], timeColumn: string | undefined): { column: string; channel?: string; unit?: string }[]
}

/** The page is compiled for the browser, so it is loaded by its address and not by the compiler. */
const { previewOf, timeColumnOf, periodOf, guessColumns } = (await import(new URL('../../../src/page/history-columns.ts', import.meta.url).href)) as Columns

describe('the head of a dropped table', () => {
  it('is parted by what parts it, with quotes, a byte order mark and an unfinished last line', () => {
    expect(previewOf('\uFEFF"When";"Zone 1; left"\r\n2026-01-01T00:00:00Z;180,5\r\n2026-01-01T00:01:00Z;18')).toEqual({ columns: ['When', 'Zone 1; left'], rows: [['2026-01-01T00:00:00Z', '180,5']], delimiter: ';' })
    expect(previewOf('a,b\n1,2\n3,4\n').rows).toEqual([['1', '2']])
    expect(previewOf('# made by a logger\nt\tx\n1\t2\nend')).toMatchObject({ columns: ['t', 'x'], delimiter: '\t', rows: [['1', '2']] })
    expect(previewOf('')).toMatchObject({ columns: [''], rows: [] })
  })

  it('tells the time column by its name or its cells, and the usual step by the median', () => {
    const preview = { columns: ['x', 'moment'], rows: [['1', '2026-01-01 00:00:00'], ['2', '2026-01-01 00:00:30'], ['3', '2026-01-01 00:01:00'], ['4', '2026-01-01 00:31:00'], ['5', '2026-01-01 00:31:30']] }
    expect(timeColumnOf(preview)).toBe('moment')
    expect(periodOf(preview, 'moment')).toBe(30)
    expect(timeColumnOf({ columns: ['a', 'b'], rows: [['1', '2']] })).toBeUndefined()
    expect(timeColumnOf({ columns: ['ts', 'b'], rows: [] })).toBe('ts')
    expect(periodOf({ columns: ['ts'], rows: [['1767225600000'], ['1767225605000'], ['1767225610000'], ['1767225615000']] }, 'ts')).toBe(5)
    expect(periodOf({ columns: ['ts'], rows: [['yesterday'], ['today']] }, 'ts')).toBeUndefined()
  })

  it('proposes channels in three languages, each once, with the unit of its name', () => {
    const guesses = guessColumns(['Stamp', 'Zone 1 temp [°F]', 'Zona 2 (C)', 'Vorheizung 3', 'Z1 setpoint', 'Zone 1 duty [%]', 'Velocidad cadena (m/min)', 'Chain current [A]', 'Nivel', 'Solder pot temp', 'Receta', 'Zone 1 again', 'preheat.zone-4.temperature', 'Operator'], 'Stamp')
    expect(guesses.map(({ channel, unit }) => [channel, unit])).toEqual([
      ['preheat.zone-1.temperature', '°F'],
      ['preheat.zone-2.temperature', '°C'],
      ['preheat.zone-3.temperature', undefined],
      ['preheat.zone-1.setpoint', undefined],
      ['preheat.zone-1.duty', '%'],
      ['conveyor.speed', 'm/min'],
      ['conveyor.current', 'A'],
      ['pot.level', undefined],
      ['pot.temperature', undefined],
      ['line.recipe', undefined],
      [undefined, undefined],
      ['preheat.zone-4.temperature', undefined],
      [undefined, undefined],
    ])
  })
})
