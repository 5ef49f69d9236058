import { readFileSync } from 'node:fs'
import { parseArgs } from 'node:util'
import { z } from 'zod'
import { readDefinitionFile, requireFile, UsageError } from './definition-file.js'
import { isTimeZone, parseLineDefinition, type LineDefinition } from '../line/line-definition.js'
import { channelKindOf } from '../line/channels.js'
import { parseReadingTime } from '../line/telemetry/reading-time.js'
import { frequencyWords } from '../maintenance/wording.js'
import { parseJsonText } from './json-text.js'
import { isoTime } from './output-json.js'
import { entryFromJson } from './entry-inputs.js'
import { recordFromJson } from './outside-inputs.js'
import { ProgressBar } from './progress-bar.js'
import { readReadingsFile, type MappedColumn } from './readings-file.js'
import { Replay, type ReplayEntry } from './replay.js'

export const REPLAY_HELP = `wave-solder-spc replay --readings <file> --out <folder> [--line <line.json>] …

Runs a plant's history through exactly the live path, as fast as it can, and writes what it would have told you.

  --readings <file>   CSV or JSON lines: time,channel,value or time,<channel>,<channel>,…
                      time: ISO 8601, or a number of ms since 1970; without a zone it is read in --time-zone
  --line <file>       the line's definition; may be left out with --channel
  --channel <id>      channel of a file that has only times and values, e.g. custom.temperature
  --columns a=b,…     names of the columns, e.g. time=timestamp,value=value
  --map <file>        JSON that says which column of a wide file is which channel, and in which unit:
                      {"Zone 1": {"channel": "preheat.zone-1.temperature", "unit": "°F"}, …}
  --time-zone <zone>  zone of times that name none; default: the line's
  --period <s>        usual time between readings of --channel, where no --line is given; default 60
  --records <file>    work done, JSON lines: {"time","section","work",…}, and entries with a "type": rounds, steps of
                      jobs, corrections, changes; writes verifications.jsonl (did the work help?), intervals.json,
                      plan.json and report.html as well
  --thin <n>          write only every n-th point of each chart
  --out <folder>      gets points.jsonl, rule-hits.jsonl, rule-ends.jsonl, signals.jsonl, suggestions.jsonl, suggestion-changes.jsonl,
                      diagnoses.jsonl, baselines.jsonl, states.jsonl, facts.jsonl, insights.jsonl, rejected.jsonl, notes.jsonl and summary.json

Readings must stand in the order in which they came. Nothing is sent anywhere.
`

/** Runs the command. @returns exit code */
export async function runReplay(args: readonly string[]): Promise<number> {
  const { values } = parseArgs({
    args: [...args],
    options: {
      line: { type: 'string' },
      readings: { type: 'string' },
      records: { type: 'string' },
      out: { type: 'string' },
      columns: { type: 'string' },
      map: { type: 'string' },
      channel: { type: 'string' },
      'time-zone': { type: 'string' },
      period: { type: 'string' },
      thin: { type: 'string' },
      help: { type: 'boolean' },
    },
  })
  if (values.help === true) {
    process.stdout.write(REPLAY_HELP)
    return 0
  }
  const { readings, out } = values
  if (readings === undefined || out === undefined) throw new UsageError('replay needs --readings <file> and --out <folder>; see replay --help')
  requireFile(readings)
  const timeZone = values['time-zone']
  if (timeZone !== undefined && !isTimeZone(timeZone)) throw new UsageError(`--time-zone: "${timeZone}" is not an IANA time zone such as "Europe/Madrid" or "UTC"`)
  const definition = definitionFor(values)
  const replay = new Replay({ definition, outFolder: out, ...(values.records === undefined ? {} : { records: readRecords(values.records) }), thin: wholeNumber('--thin', values.thin ?? '1') })
  const summary = await replayFile(readings, replay, {
    columns: parseColumns(values.columns),
    map: values.map === undefined ? undefined : readMap(values.map),
    channel: values.channel,
    timeZone: timeZone ?? definition.timeZone,
  })
  printSummary(summary, out)
  return 0
}

interface FileOptions {
  readonly columns: Partial<Record<'time' | 'channel' | 'value' | 'unit', string>>
  readonly map: Readonly<Record<string, MappedColumn>> | undefined
  readonly channel: string | undefined
  readonly timeZone: string
}

async function replayFile(path: string, replay: Replay, options: FileOptions): Promise<Readonly<Record<string, unknown>>> {
  const bar = new ProgressBar(process.stderr, 'replay')
  const words = (): string => (replay.dataMs > 0 ? isoTime(replay.dataMs).slice(0, 16) : '')
  const shape = await readReadingsFile(
    path,
    {
      columns: options.columns,
      ...(options.channel === undefined ? {} : { channel: options.channel }),
      ...(options.map === undefined ? {} : { map: options.map }),
      onFault: ({ lineNumber, found }) => replay.reject({ reason: 'unreadable-payload', where: `line ${lineNumber}`, timeMs: replay.dataMs, found, expected: 'one JSON object with a time and a value' }),
      onProgress: (share) => {
        bar.show(share, words())
        // A service that runs this for somebody who waits wants finer steps than a log.
        process.send?.({ share, time: words() })
      },
    },
    (row) => {
      for (const { channel, value, time: given, unit } of row) {
        const time = parseReadingTime(given, { timeZone: options.timeZone, notBeforeMs: replay.dataMs })
        const timeMs = time.kind === 'time' ? time.timeMs : undefined
        // A time that cannot be read goes on as it is: the telemetry stage rejects it and says why.
        replay.take({ kind: 'value', channel, value, time: timeMs ?? given, ...(unit === undefined ? {} : { unit }) }, timeMs)
      }
    },
  )
  bar.done(words())
  return replay.finish({ form: shape.form, ...(shape.ignored.length === 0 ? {} : { ignoredColumns: shape.ignored }) })
}

function definitionFor(values: { readonly line?: string | undefined; readonly channel?: string | undefined; readonly period?: string | undefined; readonly 'time-zone'?: string | undefined }): LineDefinition {
  if (values.channel !== undefined && channelKindOf(values.channel) === undefined) throw new UsageError(`unknown channel "${values.channel}"; expected one of the channel list, or custom.<name>`)
  if (values.line !== undefined) return readDefinitionFile(values.line)
  if (values.channel === undefined) throw new UsageError('replay needs --line <line.json>, or --channel <id> for a file of one channel')
  const periodS = Number(values.period ?? '60')
  const result = parseLineDefinition({ line: 'replay', timeZone: values['time-zone'] ?? 'UTC', simulated: true, channels: [{ channel: values.channel, periodS }] })
  if (result.kind === 'faults') throw new UsageError(result.faults.map(({ path, message }) => `${path}: ${message}`).join('\n'))
  return result.definition
}

function parseColumns(text: string | undefined): FileOptions['columns'] {
  const columns: FileOptions['columns'] = {}
  for (const part of text === undefined ? [] : text.split(',')) {
    const at = part.indexOf('=')
    const name = part.slice(0, at).trim()
    const column = part.slice(at + 1).trim()
    if (at < 1 || column === '' || !isColumnName(name)) throw new UsageError(`--columns: "${part}" is not time=…, channel=…, value=… or unit=…`)
    columns[name] = column
  }
  return columns
}

function isColumnName(name: string): name is 'time' | 'channel' | 'value' | 'unit' {
  return ['time', 'channel', 'value', 'unit'].includes(name)
}

/** Lines of a file are records of work, or with a `type` entries of people: rounds, steps of jobs, corrections, changes … */
function readRecords(path: string): ReplayEntry[] {
  requireFile(path)
  const lines = readFileSync(path, 'utf8').split(/\r?\n/)
  return lines.flatMap((line, index): ReplayEntry[] => {
    if (line.trim() === '') return []
    const where = `${path}, line ${index + 1}`
    if (isEntry(line)) {
      const result = entryFromJson(line, 0)
      if (result.kind === 'faults') throw new UsageError(`${where}: ${result.message}`)
      if (result.input.timeMs === 0) throw new UsageError(`${where}: expected a time`)
      return [{ kind: 'entry', entry: result.input }]
    }
    const result = recordFromJson(line, 0)
    if (result.kind === 'faults') throw new UsageError(`${where}: ${result.message}`)
    if (result.input.timeMs === 0) throw new UsageError(`${where}: expected a time`)
    return [{ kind: 'record', record: result.input }]
  })
}

/** Records have no type; what is no JSON goes on to be told as a faulty record. */
function isEntry(line: string): boolean {
  try {
    const value = JSON.parse(line) as unknown
    return typeof value === 'object' && value !== null && 'type' in value
  } catch {
    return false
  }
}

const mapSchema = z.record(z.string(), z.strictObject({ channel: z.string(), unit: z.string().optional() }))

function readMap(path: string): Readonly<Record<string, MappedColumn>> {
  requireFile(path)
  const read = parseJsonText(readFileSync(path, 'utf8'))
  if (read.kind === 'fault') throw new UsageError(`${path}, line ${read.fault.line}, column ${read.fault.column} is not JSON: ${read.fault.message}`)
  const result = mapSchema.safeParse(read.value)
  if (!result.success) throw new UsageError(`${path}: ${result.error.issues.map((issue) => `${issue.path.join('.')}: ${issue.message}`).join('; ')}`)
  const unknown = Object.values(result.data).find(({ channel }) => channelKindOf(channel) === undefined)
  if (unknown !== undefined) throw new UsageError(`${path}: unknown channel "${unknown.channel}"; expected one of the channel list, or custom.<name>`)
  return Object.fromEntries(Object.entries(result.data).map(([name, { channel, unit }]) => [name, { channel, ...(unit === undefined ? {} : { unit }) }]))
}

function wholeNumber(option: string, text: string): number {
  const value = Number(text)
  if (!Number.isInteger(value) || value < 1) throw new UsageError(`${option}: expected a whole number from 1, got "${text}"`)
  return value
}

interface SummaryFacts {
  readonly from?: string
  readonly to?: string
  readonly readings?: { readonly read: number; readonly taken: number; readonly rejectedByReason: Readonly<Record<string, number>> }
  readonly points?: number
  readonly signals?: number
  readonly refused?: readonly { readonly entry: string; readonly reason: string }[]
  readonly suggestions?: readonly { readonly time: string; readonly section: string; readonly zone?: number; readonly cause: string; readonly probability: number }[]
  readonly ignoredColumns?: readonly string[]
}

function printSummary(summary: Readonly<Record<string, unknown>>, out: string): void {
  const facts = summary as SummaryFacts
  const say = (text: string): void => void process.stdout.write(`${text}\n`)
  const rejected = Object.entries(facts.readings?.rejectedByReason ?? {})
  say(`${facts.readings?.taken ?? 0} of ${facts.readings?.read ?? 0} readings taken${facts.from === undefined ? '' : `, ${facts.from} to ${facts.to ?? ''}`}`)
  for (const { entry, reason } of facts.refused ?? []) say(`refused: ${entry} (${reason})`)
  if (rejected.length > 0) say(`rejected: ${rejected.map(([reason, count]) => `${reason} ${count}`).join(', ')}`)
  if ((facts.readings?.rejectedByReason['late'] ?? 0) > (facts.readings?.read ?? 0) / 20) say('many readings came late: is the file in the order in which they came? Sort it by time')
  if (facts.ignoredColumns !== undefined) say(`not channels, left out: ${facts.ignoredColumns.join(', ')}`)
  const counted = (count: number, one: string): string => `${count} ${one}${count === 1 ? '' : 's'}`
  say(`${counted(facts.points ?? 0, 'point')}, ${counted(facts.signals ?? 0, 'signal')}, ${counted(facts.suggestions?.length ?? 0, 'suggestion')}`)
  for (const { time, section, zone, cause, probability } of facts.suggestions ?? []) say(`  ${time} ${section}${zone === undefined ? '' : ` zone ${zone}`}: ${cause}, ${frequencyWords(probability, 'en-US')}`)
  say(`written to ${out}`)
}
