import { spawn, type ChildProcess } from 'node:child_process'
import { once } from 'node:events'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { InfluxDB } from 'influx'
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { InfluxHistory, type InfluxHistoryOptions } from '../../src/adapters/influx/influx-history.js'
import { openMemoryLineStore } from '../../src/adapters/memory/memory-line-store.js'
import type { LineOutput } from '../../src/monitor/line-output.js'
import type { LineStore, PointBody } from '../../src/ports/line-store.js'
import { freePort, listensOn } from '../brokers.js'

const START_MS = Date.UTC(2026, 2, 2, 6)

interface Server {
  stop(): Promise<void>
}

let folder: string
let port: number
let rpcPort: number
let server: Server
let reader: InfluxDB
let number = 0
let database: string
let store: LineStore
const histories: InfluxHistory[] = []

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'influx-'))
  port = await freePort()
  rpcPort = await freePort()
  server = await startServer()
  reader = new InfluxDB({ host: '127.0.0.1', port })
})

afterAll(async () => {
  await server.stop()
  rmSync(folder, { recursive: true, force: true })
})

beforeEach(() => {
  number += 1
  database = `plant_${number}`
  store = openMemoryLineStore()
})

afterEach(async () => {
  for (const history of histories.splice(0)) await history.close()
})

describe('the copy of the history to InfluxDB', () => {
  it('holds points, rule hits, signals, states and suggestions with their tags, fields and times', async () => {
    commit([
      point(1, { recipe: 'board A, rev="2" ä=ö' }),
      { kind: 'rule-hit', body: { timeMs: START_MS, chart: 'individuals', rule: 'eight-on-one-side', side: 'above', pointTimesMs: [START_MS - 5, START_MS], feature: 'pot.level.mean', recipe: 'r', state: 'production' } },
      { kind: 'rule-end', body: { timeMs: START_MS + 60_000, chart: 'individuals', rule: 'eight-on-one-side', side: 'above', feature: 'pot.level.mean', recipe: 'r', state: 'production' } },
      { kind: 'signal', body: { timeMs: START_MS, phase: 'start', chart: 'ewma', side: 'below', onsetMs: START_MS - 60_000, shiftSigma: -1.5, feature: 'pot.level.mean', recipe: 'r', state: 'production' } },
      { kind: 'state', body: { timeMs: START_MS, state: 'idle', previous: 'production', recipe: 'r', because: 'state.by-zones' } },
      suggestion(),
    ])
    const history = open()
    await expect.poll(() => history.status()).toMatchObject({ state: 'up-to-date', written: 6, refused: 0 })
    expect(await rows('chart_point')).toMatchObject([
      { time: new Date(START_MS + 1_000), line: 'line-a', feature: 'pot.level.mean', chart: 'individuals', recipe: 'board A, rev="2" ä=ö', state: 'production', baseline: 'provisional', value: 1.5, statistic: 1.5, centre: 0, lower: -3, upper: 3, sigma: 1, n: 25 },
    ])
    expect(await rows('rule_hit')).toMatchObject([{ rule: 'eight-on-one-side', side: 'above', points: 2, first_point_ms: START_MS - 5 }])
    expect(await rows('rule_end')).toMatchObject([{ time: new Date(START_MS + 60_000), rule: 'eight-on-one-side', side: 'above' }])
    expect(await rows('signal')).toMatchObject([{ phase: 'start', shift_sigma: -1.5, onset_ms: START_MS - 60_000 }])
    expect(await rows('line_state')).toMatchObject([{ line: 'line-a', state: 'idle', previous: 'production', because: 'state.by-zones' }])
    expect(await rows('suggestion')).toMatchObject([{ section: 'preheat', zone: '2', status: 'open', id: 's-1', cause: 'clogged-blower', probability: 0.7 }])
  })

  it('takes texts that the line protocol cannot hold as they are', async () => {
    const recipes = ['ends in \\', 'two\nlines', '   ', 'a\\,b=c \\ d', '"', '\u0007', 'tab\tin it', '😀 board']
    commit(recipes.map((recipe, index) => point(index, { recipe })))
    commit([{ kind: 'state', body: { timeMs: START_MS, state: 'idle', previous: 'production', recipe: 'ends in \\', because: 'say "so"\nnow\\' } }])
    const history = open()
    await expect.poll(() => history.status()).toMatchObject({ state: 'up-to-date', refused: 0, written: recipes.length + 1 })
    const found = (await rows('chart_point')).map((row) => (row as { recipe?: string | null }).recipe ?? '')
    expect(found).toEqual(['ends in /', 'two lines', '', 'a/,b=c / d', '"', '', 'tab in it', '😀 board'])
    expect(await rows('line_state')).toMatchObject([{ recipe: 'ends in /', because: 'say "so" now/' }])
  })

  it('copies everything in batches and goes on from its place after a restart', async () => {
    for (let batch = 0; batch < 5; batch += 1) commit(Array.from({ length: 30 }, (_, index) => point(batch * 30 + index)))
    const first = open({ batchRows: 40 })
    await expect.poll(() => first.status()).toMatchObject({ state: 'up-to-date', written: 150 })
    await first.close()
    commit([point(500), point(501)])
    const second = open({ batchRows: 40 })
    await expect.poll(() => second.status()).toMatchObject({ state: 'up-to-date', written: 2 })
    expect(await rows('chart_point')).toHaveLength(152)
  })

  it('follows what is committed while it runs, of its own lines only', async () => {
    const history = open({ pollMs: 5, lines: new Set(['line-b']) })
    commit([point(1)])
    commit([point(2)], 'line-b')
    await expect.poll(() => history.status().written).toBe(1)
    commit([point(3)], 'line-b')
    await expect.poll(() => history.status().written).toBe(2)
    expect((await rows('chart_point')).map((row) => (row as { line?: string }).line)).toEqual(['line-b', 'line-b'])
  })

  it('leaves out rows the server refuses, counts them, and keeps every other row of their batch', async () => {
    await reader.createDatabase(database)
    // Somebody else has written a text where a number belongs: from then on the server refuses the number.
    await reader.writePoints([{ measurement: 'rule_hit', fields: { points: 'many' }, timestamp: new Date(START_MS) }], { database })
    const hit = (index: number): LineOutput => ({ kind: 'rule-hit', body: { timeMs: START_MS + index, chart: 'individuals', rule: 'eight-on-one-side', side: 'above', pointTimesMs: [START_MS], feature: 'pot.level.mean', recipe: 'r', state: 'production' } })
    commit([...Array.from({ length: 60 }, (_, index) => point(index)), hit(1), hit(2)])
    const history = open()
    await expect.poll(() => history.status().state, { timeout: 5_000 }).toBe('up-to-date')
    expect(history.status()).toMatchObject({ written: 60, refused: 2 })
    expect(history.status().lastRefusal).toContain('field type conflict')
    expect(await rows('chart_point')).toHaveLength(60)
  })

  it('loses nothing while the server is away, and fills it up later', async () => {
    const history = open({ retryMs: [20, 100], pollMs: 10 })
    commit([point(1)])
    await expect.poll(() => history.status().written).toBe(1)
    await server.stop()
    commit([point(2)])
    await expect.poll(() => history.status()).toMatchObject({ state: 'failing', written: 1 })
    commit([point(3)])
    expect(history.status().lastError).toBeTruthy()
    server = await startServer()
    await expect.poll(() => history.status(), { timeout: 10_000 }).toMatchObject({ state: 'up-to-date', written: 3, failures: 0 })
    expect(await rows('chart_point')).toHaveLength(3)
  })

  it('refuses an address that is none', () => {
    expect(() => new InfluxHistory({ store, access: { url: 'ftp://127.0.0.1', database } })).toThrow('expected http:// or https://')
  })
})

function open(changes: Partial<InfluxHistoryOptions> = {}): InfluxHistory {
  const history = new InfluxHistory({ store, access: { url: `http://127.0.0.1:${port}`, database }, ...changes })
  histories.push(history)
  return history
}

function commit(outputs: readonly LineOutput[], line = 'line-a'): void {
  const { lastSeq } = store.commit({ line, inputs: [{ input: { kind: 'end-of-data' }, receivedMs: 1 }], outputs: [], processedSeq: 0, outbox: [] })
  store.commit({ line, inputs: [], outputs: outputs.map((output, ordinal) => ({ line, seq: lastSeq, ordinal, output })), processedSeq: lastSeq, outbox: [] })
}

async function rows(measurement: string): Promise<unknown[]> {
  return [...(await reader.query(`SELECT * FROM ${measurement}`, { database }))]
}

function point(index: number, changes: Partial<PointBody> = {}): LineOutput {
  const body = { timeMs: START_MS + index * 1_000, feature: 'pot.level.mean', chart: 'individuals', value: 1.5, statistic: 1.5, centre: 0, lower: -3, upper: 3, sigma: 1, n: 25, recipe: 'r', state: 'production', baseline: 'provisional' } as const
  return { kind: 'point', body: { ...body, ...changes } }
}

function suggestion(): LineOutput {
  const causes = [{ cause: 'clogged-blower', section: 'preheat', kind: 'fault', probability: 0.7 }] as const
  return {
    kind: 'suggestion',
    body: { id: 's-1', line: 'line-a', raisedMs: START_MS, section: 'preheat', zone: 2, causes, evidence: [], checkFirst: { check: 'c', minutes: 5, needsElectrician: false }, work: [], cautions: ['hot'], onsetMs: START_MS, abstains: false, urgency: 'soon', invisible: [], features: [], status: 'open', statusMs: START_MS, history: [] },
  }
}

/** The Debian package's server on ports of its own, with its files in the test's folder. */
async function startServer(): Promise<Server> {
  const settings = [
    'reporting-disabled = true',
    `bind-address = "127.0.0.1:${rpcPort}"`,
    `[meta]\ndir = "${join(folder, 'meta')}"`,
    `[data]\ndir = "${join(folder, 'data')}"\nwal-dir = "${join(folder, 'wal')}"\nquery-log-enabled = false`,
    '[monitor]\nstore-enabled = false',
    `[http]\nbind-address = "127.0.0.1:${port}"\nlog-enabled = false`,
  ]
  writeFileSync(join(folder, 'influxdb.conf'), settings.join('\n'))
  const child: ChildProcess = spawn('/usr/bin/influxd', ['run', '-config', join(folder, 'influxdb.conf')], { stdio: 'ignore' })
  const ended = once(child, 'exit')
  await listensOn(port, () => child.exitCode === null)
  return {
    stop: async () => {
      child.kill('SIGTERM')
      await ended
    },
  }
}
