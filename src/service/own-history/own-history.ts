import { fork, type ChildProcess } from 'node:child_process'
import { randomUUID } from 'node:crypto'
import { createWriteStream, existsSync, mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Readable } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import { z } from 'zod'
import { channelKindOf } from '../../line/channels.js'
import { isTimeZone, parseLineDefinition, type LineDefinition } from '../../line/line-definition.js'
import { summarise, type HistoryFindings } from './history-findings.js'

/** Largest file taken, bytes: twelve weeks of ten channels at one second, in text. */
const FILE_BYTES_MAX = 2_000_000_000
/** Histories kept; the oldest goes when another comes. */
const KEPT_MAX = 10
const ERROR_CHARS_MAX = 2000

/** Which column of the file is what. */
export const historyRequestSchema = z.strictObject({
  fileName: z.string().trim().min(1).max(200),
  timeZone: z.string().refine(isTimeZone, 'expected an IANA time zone, e.g. "Europe/Madrid"').default('UTC').describe('Zone of times that name none'),
  timeColumn: z.string().min(1).max(200),
  columns: z
    .array(z.strictObject({ column: z.string().min(1).max(200), channel: z.string().max(128), unit: z.string().max(20).optional() }))
    .min(1)
    .max(200)
    .describe('Columns that are channels, each with its channel id and unit; the others are left out'),
  periodS: z.number().positive().max(86_400).describe('Usual time between two rows, s'),
  zones: z.array(z.strictObject({ kind: z.enum(['convection', 'radiant']).optional(), thermocouple: z.enum(['board-air', 'heater-outlet', 'on-element', 'unknown']).optional() })).max(12).optional(),
})
export type HistoryRequest = z.output<typeof historyRequestSchema>

export type HistoryStatus = 'waiting-for-file' | 'receiving' | 'running' | 'done' | 'failed'

/** How a history stands. */
export interface HistoryState {
  readonly id: string
  readonly fileName: string
  readonly status: HistoryStatus
  /** Share of the file worked through, 0-1. */
  readonly share: number
  /** Where in the data the work is now. */
  readonly time?: string
  readonly message?: string
}

interface Entry {
  state: HistoryState
  readonly request: HistoryRequest
  readonly definition: LineDefinition
  child?: ChildProcess
}

/** Why a history cannot be taken. */
export class HistoryFault extends Error {}

/**
 * Histories that people drop on the page: each is a folder with the file and what `replay` made of it. The work runs in
 * a process of its own, so that the lines at work do not wait for it.
 */
export class OwnHistory {
  private readonly entries = new Map<string, Entry>()
  /** One file at a time: several would take the machine from the lines at work. */
  private turn: Promise<void> = Promise.resolve()

  /**
   * @param folder where the files are kept; made when it is needed
   * @param commandLine the built command line, which has `replay`
   */
  constructor(
    private readonly folder: string,
    private readonly commandLine: string,
  ) {
    for (const id of listed(folder)) this.readBack(id)
  }

  /** @throws HistoryFault that says what is wrong with the columns */
  begin(request: HistoryRequest): HistoryState {
    const definition = definitionFor(request)
    const id = randomUUID()
    mkdirSync(join(this.folder, id), { recursive: true })
    writeFileSync(join(this.folder, id, 'request.json'), JSON.stringify(request))
    writeFileSync(join(this.folder, id, 'line.json'), JSON.stringify(definition))
    writeFileSync(join(this.folder, id, 'map.json'), JSON.stringify(Object.fromEntries(request.columns.map(({ column, channel, unit }) => [column, { channel, ...(unit === undefined ? {} : { unit }) }]))))
    const state: HistoryState = { id, fileName: request.fileName, status: 'waiting-for-file', share: 0 }
    this.entries.set(id, { state, request, definition })
    for (const old of [...this.entries.keys()].slice(0, Math.max(0, this.entries.size - KEPT_MAX))) this.remove(old)
    return state
  }

  list(): readonly HistoryState[] {
    return [...this.entries.values()].map(({ state }) => state).reverse()
  }

  state(id: string): HistoryState | undefined {
    return this.entries.get(id)?.state
  }

  /** What was found, and the definition it was found with; undefined while it is not done. */
  findings(id: string): { readonly findings: HistoryFindings; readonly definition: LineDefinition } | undefined {
    const entry = this.entries.get(id)
    if (entry?.state.status !== 'done') return undefined
    return { findings: JSON.parse(readFileSync(join(this.folder, id, 'findings.json'), 'utf8')) as HistoryFindings, definition: entry.definition }
  }

  /** Takes the file and starts the work; resolves when the file is there. @throws HistoryFault */
  async receive(id: string, body: Readable): Promise<HistoryState> {
    const entry = this.entries.get(id)
    if (entry === undefined) throw new HistoryFault(`there is no history "${id}"`)
    if (entry.state.status !== 'waiting-for-file') throw new HistoryFault('the file of this history has come already')
    this.change(id, { status: 'receiving' })
    const path = this.readingsPath(entry)
    try {
      await pipeline(body, limited(FILE_BYTES_MAX), createWriteStream(path))
    } catch (error) {
      this.change(id, { status: 'failed', message: error instanceof Error ? error.message : String(error) })
      throw error instanceof HistoryFault ? error : new HistoryFault('the file did not arrive whole')
    }
    if (statSync(path).size === 0) {
      this.change(id, { status: 'failed', message: 'the file is empty' })
      throw new HistoryFault('the file is empty')
    }
    this.change(id, { status: 'running' })
    this.turn = this.turn.then(() => this.run(entry))
    return entry.state
  }

  remove(id: string): void {
    const entry = this.entries.get(id)
    if (entry === undefined) return
    entry.child?.kill()
    this.entries.delete(id)
    rmSync(join(this.folder, id), { recursive: true, force: true })
  }

  close(): void {
    for (const { child } of this.entries.values()) child?.kill()
  }

  private readingsPath({ state, request }: Entry): string {
    return join(this.folder, state.id, /\.(jsonl|ndjson)$/i.test(request.fileName) ? 'readings.jsonl' : 'readings.csv')
  }

  /** Resolves when the work has ended, well or not. */
  private async run(entry: Entry): Promise<void> {
    const { state, request } = entry
    const { id } = state
    if (!this.entries.has(id)) return
    const place = (name: string): string => join(this.folder, id, name)
    const args = ['replay', '--line', place('line.json'), '--readings', this.readingsPath(entry), '--map', place('map.json'), '--columns', `time=${request.timeColumn}`, '--time-zone', request.timeZone, '--out', place('out')]
    const child = fork(this.commandLine, args, { stdio: ['ignore', 'ignore', 'pipe', 'ipc'] })
    entry.child = child
    let errors = ''
    child.stderr?.on('data', (chunk: Buffer) => {
      errors = `${errors}${chunk.toString('utf8')}`.slice(-ERROR_CHARS_MAX)
    })
    child.on('message', (message) => {
      const progress = z.object({ share: z.number().min(0).max(1), time: z.string() }).safeParse(message)
      if (progress.success) this.change(id, { share: progress.data.share, ...(progress.data.time === '' ? {} : { time: progress.data.time }) })
    })
    const code = await new Promise<number | null>((resolve) => {
      child.once('error', (error) => {
        errors = error.message
        resolve(null)
      })
      child.once('close', resolve)
    })
    delete entry.child
    if (!this.entries.has(id)) return
    if (code !== 0) {
      const last = errors.split('\n').filter((line) => line !== '' && !line.startsWith('replay ')).at(-1)
      this.change(id, { status: 'failed', message: last?.replaceAll(this.folder, '').replace(/^\/[0-9a-f-]+\/readings\.\w+/, request.fileName) ?? `the work ended with code ${String(code)}` })
      return
    }
    try {
      writeFileSync(place('findings.json'), JSON.stringify(await summarise(place('out'))))
      rmSync(this.readingsPath(entry), { force: true })
      rmSync(place('out'), { recursive: true, force: true })
      this.change(id, { status: 'done', share: 1 })
    } catch (error) {
      this.change(id, { status: 'failed', message: error instanceof Error ? error.message : String(error) })
    }
  }

  private change(id: string, change: Partial<HistoryState>): void {
    const entry = this.entries.get(id)
    if (entry !== undefined) entry.state = { ...entry.state, ...change }
  }

  /** What an earlier process left: finished ones are shown again, unfinished ones go. */
  private readBack(id: string): void {
    const place = (name: string): string => join(this.folder, id, name)
    if (!existsSync(place('findings.json'))) {
      rmSync(join(this.folder, id), { recursive: true, force: true })
      return
    }
    const request = historyRequestSchema.safeParse(JSON.parse(readFileSync(place('request.json'), 'utf8')))
    const definition = parseLineDefinition(JSON.parse(readFileSync(place('line.json'), 'utf8')))
    if (!request.success || definition.kind === 'faults') return
    this.entries.set(id, { request: request.data, definition: definition.definition, state: { id, fileName: request.data.fileName, status: 'done', share: 1 } })
  }
}

function listed(folder: string): string[] {
  if (!existsSync(folder)) return []
  return readdirSync(folder)
    .filter((name) => /^[0-9a-f-]{36}$/.test(name))
    .sort((a, b) => statSync(join(folder, a)).mtimeMs - statSync(join(folder, b)).mtimeMs)
}

function definitionFor({ columns, periodS, timeZone, zones = [] }: HistoryRequest): LineDefinition {
  const unknown = columns.find(({ channel }) => channelKindOf(channel) === undefined)
  if (unknown !== undefined) throw new HistoryFault(`column "${unknown.column}": there is no channel "${unknown.channel}"`)
  const twice = columns.find(({ channel }, index) => columns.findIndex((other) => other.channel === channel) !== index)
  if (twice !== undefined) throw new HistoryFault(`column "${twice.column}": channel "${twice.channel}" is given to another column already`)
  const last = Math.max(1, zones.length, ...columns.map(({ channel }) => channelKindOf(channel)?.zone ?? 0))
  const result = parseLineDefinition({
    line: 'own-history',
    timeZone,
    simulated: true,
    machine: { zones: Array.from({ length: last }, (_, index) => zones[index] ?? {}) },
    channels: columns.map(({ channel, unit }) => ({ channel, periodS, ...(unit === undefined ? {} : { unit }) })),
  })
  if (result.kind === 'faults') throw new HistoryFault(result.faults.map(({ path, message }) => `${path}: ${message}`).join('; '))
  return result.definition
}

function limited(bytesMax: number) {
  return async function* (source: AsyncIterable<Buffer>): AsyncGenerator<Buffer> {
    let bytes = 0
    for await (const chunk of source) {
      bytes += chunk.length
      if (bytes > bytesMax) throw new HistoryFault(`the file is larger than ${bytesMax / 1e9} GB`)
      yield chunk
    }
  }
}
