import { createReadStream, statSync } from 'node:fs'
import { createInterface } from 'node:readline'
import { parse, CsvError } from 'csv-parse'
import { channelKindOf } from '../line/channels.js'

/** Longest line of a file that is read, characters; a longer one is a fault of the file, not a reading. */
const LINE_CHARS_MAX = 1_000_000

/** One value of a file, unchecked. */
export interface FileReading {
  readonly channel: string
  readonly value: unknown
  readonly time: unknown
  readonly unit?: string
}

/** What a column of a wide file holds. */
export interface MappedColumn {
  readonly channel: string
  readonly unit?: string
}

/** A line that could not be read at all. */
export interface FileFault {
  readonly lineNumber: number
  readonly found: string
}

export interface ReadingsFileOptions {
  /** Column or field of each part of a long file, by its own name: `time`, `channel`, `value`, `unit`. */
  readonly columns: Readonly<Partial<Record<'time' | 'channel' | 'value' | 'unit', string>>>
  /** Channel of a file that has only times and values. */
  readonly channel?: string
  /** Columns of a wide file by their own name; with it only these are taken. */
  readonly map?: Readonly<Record<string, MappedColumn>>
  readonly onFault: (fault: FileFault) => void
  /** Share of the file read, 0-1. */
  readonly onProgress: (share: number) => void
}

export interface ReadingsFileShape {
  readonly form: 'long' | 'wide' | 'one-channel'
  readonly channels: readonly string[]
  /** Columns of a wide file that are no channel. */
  readonly ignored: readonly string[]
}

/**
 * Streams the readings of a CSV or JSON-lines file, long (`time,channel,value`) or wide (`time,<channel>,…`), row by row.
 *
 * @param path a file name; `.jsonl` and `.ndjson` are JSON lines, everything else is CSV with `,`, `;` or tab between
 * @param onRow gets all values of one row; called in file order
 * @returns the form that was found
 * @throws Error if the file has no time column or no channel at all
 */
export async function readReadingsFile(path: string, options: ReadingsFileOptions, onRow: (row: readonly FileReading[]) => void): Promise<ReadingsFileShape> {
  return /\.(jsonl|ndjson)$/i.test(path) ? readJsonLines(path, options, onRow) : readCsv(path, options, onRow)
}

interface Columns {
  readonly shape: ReadingsFileShape
  readonly time: number
  readonly channel: number
  readonly value: number
  readonly unit: number
  readonly wide: readonly { readonly index: number; readonly channel: string; readonly unit?: string }[]
}

async function readCsv(path: string, options: ReadingsFileOptions, onRow: (row: readonly FileReading[]) => void): Promise<ReadingsFileShape> {
  const delimiter = await delimiterOf(path)
  const stream = createReadStream(path)
  const total = Math.max(1, statSync(path).size)
  const parser = stream.pipe(
    parse({ bom: true, delimiter, trim: true, skip_empty_lines: true, relax_column_count: true, relax_quotes: true, comment: '#', comment_no_infix: true, max_record_size: LINE_CHARS_MAX }),
  )
  stream.once('error', (error) => parser.destroy(error))
  let columns: Columns | undefined
  let rowNumber = 0
  try {
    for await (const record of parser as AsyncIterable<string[]>) {
      rowNumber += 1
      if (columns === undefined) {
        columns = columnsOf(record, options, path)
        continue
      }
      if ((rowNumber & 1023) === 0) options.onProgress(stream.bytesRead / total)
      onRow(rowOf(record, columns, options, delimiter))
    }
  } catch (error) {
    if (error instanceof CsvError) throw new Error(`${path}, line ${String(error['lines'])} cannot be read as CSV: ${error.message}`)
    throw error
  }
  if (columns === undefined) throw new Error(`${path} is empty; expected a first row with the names of the columns`)
  return columns.shape
}

async function delimiterOf(path: string): Promise<string> {
  const lines = createInterface({ input: createReadStream(path, { end: 65_535 }), crlfDelay: Infinity })
  for await (const line of lines) {
    if (line.trim() === '' || line.startsWith('#')) continue
    const counts = [',', ';', '\t'].map((delimiter) => ({ delimiter, count: line.split(delimiter).length }))
    return counts.reduce((best, next) => (next.count > best.count ? next : best)).delimiter
  }
  return ','
}

function columnsOf(header: readonly string[], options: ReadingsFileOptions, path: string): Columns {
  const at = (part: 'time' | 'channel' | 'value' | 'unit'): number => {
    const named = options.columns[part]
    const index = header.indexOf(named ?? part)
    if (index < 0 && named !== undefined) throw new Error(`${path} has no column "${named}" (asked for as ${part}); it has: ${header.join(', ')}`)
    return index
  }
  const [time, channel, value, unit] = [at('time'), at('channel'), at('value'), at('unit')]
  if (time < 0) throw new Error(`${path} has no column "time"; it has: ${header.join(', ')}. Name it with --columns time=<column>`)
  if (options.map !== undefined) return mappedColumns(header, time, options.map, path)
  if (value >= 0 && channel >= 0) return { shape: { form: 'long', channels: [], ignored: [] }, time, channel, value, unit, wide: [] }
  if (value >= 0 && options.channel !== undefined) return { shape: { form: 'one-channel', channels: [options.channel], ignored: [] }, time, channel, value, unit, wide: [] }
  const others = header.map((name, index) => ({ index, channel: name })).filter(({ index }) => index !== time)
  const wide = others.filter((column) => channelKindOf(column.channel) !== undefined)
  const ignored = others.filter((column) => channelKindOf(column.channel) === undefined).map((column) => column.channel)
  if (wide.length === 0) throw new Error(`${path} has no column named as a channel, and no "channel" and "value" columns; it has: ${header.join(', ')}. A file of times and values needs --channel <id>`)
  return { shape: { form: 'wide', channels: wide.map((column) => column.channel), ignored }, time, channel, value, unit, wide }
}

function mappedColumns(header: readonly string[], time: number, map: Readonly<Record<string, MappedColumn>>, path: string): Columns {
  const missing = Object.keys(map).filter((name) => !header.includes(name))
  if (missing.length > 0) throw new Error(`${path} has no column "${missing[0]}"; it has: ${header.join(', ')}`)
  const wide = Object.entries(map).map(([name, { channel, unit }]) => ({ index: header.indexOf(name), channel, ...(unit === undefined ? {} : { unit }) }))
  const taken = new Set([time, ...wide.map(({ index }) => index)])
  return { shape: { form: 'wide', channels: wide.map(({ channel }) => channel), ignored: header.filter((_, index) => !taken.has(index)) }, time, channel: -1, value: -1, unit: -1, wide }
}

function rowOf(record: readonly string[], columns: Columns, options: ReadingsFileOptions, delimiter: string): FileReading[] {
  const time = record[columns.time] ?? ''
  if (columns.shape.form === 'wide') {
    return columns.wide.flatMap(({ index, channel, unit }) => {
      const text = record[index] ?? ''
      return text === '' ? [] : [{ channel, time, value: valueOf(text, channel, delimiter), ...(unit === undefined ? {} : { unit }) }]
    })
  }
  const channel = columns.shape.form === 'long' ? (record[columns.channel] ?? '') : (options.channel ?? '')
  const unit = columns.unit < 0 ? undefined : record[columns.unit]
  return [{ channel, time, value: valueOf(record[columns.value] ?? '', channel, delimiter), ...(unit === undefined || unit === '' ? {} : { unit }) }]
}

/** A number where the channel wants one and the text is one; else the text, which the telemetry stage judges. */
function valueOf(text: string, channel: string, delimiter: string): number | string {
  if (channelKindOf(channel)?.channelKind.valueType === 'text' || text === '') return text
  const number = Number(delimiter === ',' ? text : text.replace(',', '.'))
  return Number.isFinite(number) ? number : text
}

async function readJsonLines(path: string, options: ReadingsFileOptions, onRow: (row: readonly FileReading[]) => void): Promise<ReadingsFileShape> {
  const stream = createReadStream(path)
  const total = Math.max(1, statSync(path).size)
  const timeField = options.columns.time ?? 'time'
  const channelField = options.columns.channel ?? 'channel'
  const valueField = options.columns.value ?? 'value'
  const unitField = options.columns.unit ?? 'unit'
  const seen = { long: false, wide: new Set<string>(), ignored: new Set<string>() }
  let lineNumber = 0
  for await (const line of createInterface({ input: stream, crlfDelay: Infinity })) {
    lineNumber += 1
    if ((lineNumber & 1023) === 0) options.onProgress(stream.bytesRead / total)
    if (line.trim() === '') continue
    const row = line.length > LINE_CHARS_MAX ? undefined : jsonObject(line)
    if (row === undefined) {
      options.onFault({ lineNumber, found: line.slice(0, 120) })
      continue
    }
    const time = row[timeField]
    if (Object.hasOwn(row, valueField)) {
      const channel = Object.hasOwn(row, channelField) ? row[channelField] : options.channel
      if (typeof channel !== 'string') {
        options.onFault({ lineNumber, found: line.slice(0, 120) })
        continue
      }
      seen.long = true
      const unit = row[unitField]
      onRow([{ channel, time, value: row[valueField], ...(typeof unit === 'string' ? { unit } : {}) }])
      continue
    }
    const readings: FileReading[] = []
    for (const [channel, value] of Object.entries(row)) {
      if (channel === timeField || value === null) continue
      const known = channelKindOf(channel) !== undefined
      const names = known ? seen.wide : seen.ignored
      if (names.size < 1000) names.add(channel)
      if (known) readings.push({ channel, time, value })
    }
    onRow(readings)
  }
  const channels = [...seen.wide]
  if (!seen.long && channels.length === 0) throw new Error(`${path} holds no reading; expected lines such as {"time":"…","channel":"pot.level","value":0.4}`)
  return { form: seen.long ? 'long' : 'wide', channels, ignored: [...seen.ignored] }
}

function jsonObject(line: string): Record<string, unknown> | undefined {
  try {
    const value: unknown = JSON.parse(line)
    return typeof value === 'object' && value !== null && !Array.isArray(value) ? (value as Record<string, unknown>) : undefined
  } catch {
    return undefined
  }
}
