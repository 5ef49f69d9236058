import { parse } from 'csv-parse/sync'
import type { RecordFact } from '../maintenance/jobs/job-fact.js'
import { csvText, type CsvCell } from '../maintenance/report/csv-text.js'
import { withinRetention } from './names-of-people.js'
import { recordFromJson } from './outside-inputs.js'
import { isoTime } from './output-json.js'
import type { SiteLine } from './site-view.js'

const COLUMNS = ['time', 'section', 'zone', 'work', 'finding', 'minutes', 'people', 'product', 'lot', 'passes', 'washer', 'parts', 'values', 'handCheck', 'surfaceC', 'deviation', 'suggestion', 'job', 'remark', 'by', 'id'] as const
type Column = (typeof COLUMNS)[number]
/** Columns only the export has. */
const OWN_COLUMNS = ['entered', 'corrected', 'withdrawn'] as const
const NUMBERS: readonly Column[] = ['zone', 'finding', 'minutes', 'people', 'passes', 'surfaceC']
const ROWS_MAX = 2000

/** Records of work as CSV, the oldest first; what the export gives can be read in again. */
export function recordsCsv(line: SiteLine): string {
  const facts = [...line.projection.factsOf('record')].sort((a, b) => a.timeMs - b.timeMs)
  return csvText([...COLUMNS, ...OWN_COLUMNS], facts.map((fact) => rowOf(withinRetention(fact, line.definition, line.nowMs()))))
}

function rowOf({ record, enteredMs, earlier, withdrawn }: RecordFact): CsvCell[] {
  const { values, parts, washer, timeMs, photo: _photo, ...rest } = record
  const cells: Record<string, CsvCell> = {
    ...rest,
    time: isoTime(timeMs),
    ...(washer === undefined ? {} : { washer: washer ? 'yes' : 'no' }),
    ...(parts === undefined ? {} : { parts: parts.join('; ') }),
    ...(values === undefined ? {} : { values: Object.entries(values).map(([name, value]) => `${name}=${value}`).join('; ') }),
    ...(enteredMs === undefined ? {} : { entered: isoTime(enteredMs) }),
    corrected: earlier.length === 0 ? '' : String(earlier.length),
    withdrawn: withdrawn ? 'yes' : '',
  }
  return [...COLUMNS, ...OWN_COLUMNS].map((column) => cells[column])
}

export interface CsvOutcome {
  readonly taken: number
  readonly refused: readonly { readonly row: number; readonly message: string }[]
}

/**
 * Takes records from CSV with a header row, each through the line's journal. What is refused is told with its row; the
 * rest is taken. The same file twice counts once.
 *
 * @throws Error that says what was expected, for a text that is no such CSV
 */
export async function takeRecordsCsv(line: SiteLine, text: string): Promise<CsvOutcome> {
  const rows = parse(text, { bom: true, columns: true, skip_empty_lines: true, trim: true, relax_column_count_less: true }) as Record<string, string>[]
  if (rows.length > ROWS_MAX) throw new Error(`${rows.length} rows; expected at most ${ROWS_MAX}`)
  const [first] = rows
  const unknown = Object.keys(first ?? {}).filter((name) => ![...COLUMNS, ...OWN_COLUMNS].includes(name as Column))
  if (first === undefined || !('section' in first && 'work' in first) || unknown.length > 0) throw new Error(`expected a header row with section and work, and of the columns ${COLUMNS.join(', ')}${unknown.length > 0 ? `; found ${unknown.join(', ')}` : ''}`)
  let taken = 0
  const refused: { row: number; message: string }[] = []
  for (const [index, row] of rows.entries()) {
    // The header is row 1.
    const refuse = (message: string): void => void refused.push({ row: index + 2, message })
    if (row['withdrawn'] === 'yes') continue
    const record = recordFromJson(jsonOf(row), line.nowMs())
    if (record.kind === 'faults') {
      refuse(record.message)
      continue
    }
    const outcome = await line.record(record.input)
    if (outcome.kind === 'refused') refuse(outcome.message)
    else taken += 1
  }
  return { taken, refused }
}

function jsonOf(row: Readonly<Record<string, string>>): Record<string, unknown> {
  return Object.fromEntries(
    COLUMNS.flatMap((column) => {
      const cell = row[column]
      if (cell === undefined || cell === '') return []
      // What keeps a spreadsheet from taking text for a formula is no part of it.
      const text = /^'\s*[=+\-@\t\r]/.test(cell) ? cell.slice(1) : cell
      return [[column, valueOf(column, text)]]
    }),
  )
}

function valueOf(column: Column, text: string): unknown {
  if (NUMBERS.includes(column)) return Number(text)
  if (column === 'washer') return ['yes', 'true', '1', 'sí', 'si'].includes(text.toLowerCase())
  if (column === 'parts') return text.split(';').map((part) => part.trim()).filter((part) => part !== '')
  if (column === 'values') return Object.fromEntries(text.split(';').map((part) => part.split('=').map((side) => side.trim())).map(([name = '', value = '']) => [name, value === '' ? Number.NaN : Number(value)]))
  return text
}
