import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { UsageError } from '../../../src/service/definition-file.js'
import { runReplay } from '../../../src/service/replay-command.js'

let folder = ''
const said: string[] = []

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'replay-'))
  said.length = 0
  vi.spyOn(process.stdout, 'write').mockImplementation((text) => said.push(String(text)) > 0)
  vi.spyOn(process.stderr, 'write').mockImplementation(() => true)
})

afterEach(() => {
  vi.restoreAllMocks()
  rmSync(folder, { recursive: true, force: true })
})

function file(name: string, text: string): string {
  const path = join(folder, name)
  writeFileSync(path, text)
  return path
}

function told(name: string): Record<string, unknown>[] {
  return readFileSync(join(folder, 'out', `${name}.jsonl`), 'utf8').split('\n').filter((line) => line !== '').map((line) => JSON.parse(line) as Record<string, unknown>)
}

interface Summary {
  readonly from: string
  readonly to: string
  readonly form: string
  readonly ignoredColumns?: readonly string[]
  readonly readings: { readonly read: number; readonly taken: number; readonly rejected: number; readonly rejectedByReason: Record<string, number> }
  readonly points: number
}

function summary(): Summary {
  return JSON.parse(readFileSync(join(folder, 'out', 'summary.json'), 'utf8')) as Summary
}

function replay(readings: string, ...more: string[]): Promise<number> {
  return runReplay(['--readings', readings, '--out', join(folder, 'out'), ...more])
}

/** One value a minute, the fraction of the golden section as noise: the same at every run, and never periodic. */
function valueAt(index: number): number {
  const spread = [1, 2, 3, 4].reduce((sum, factor) => sum + (((index * factor * 0.6180339887) % 1) - 0.5), 0)
  return 60 + spread + (index >= 900 ? 3 : 0)
}

const START_MS = Date.UTC(2026, 2, 2)
const oneChannel = ['--channel', 'custom.temperature', '--time-zone', 'UTC']

function twoColumns(count: number): string {
  return `timestamp,value\n${Array.from({ length: count }, (_, index) => `${new Date(START_MS + index * 60_000).toISOString().slice(0, 19).replace('T', ' ')},${valueAt(index).toFixed(4)}`).join('\n')}\n`
}

describe('replay of a plain two-column file', () => {
  it('charts it, and every rule hit can be derived again from the points alone', async () => {
    const readings = file('t.csv', twoColumns(1400))
    expect(await replay(readings, ...oneChannel, '--columns', 'time=timestamp,value=value')).toBe(0)
    expect(summary()).toMatchObject({ form: 'one-channel', from: '2026-03-02T00:00:00.000Z', readings: { read: 1400, taken: 1400, rejected: 0 } })
    const points = told('points')
    expect(points.length).toBe(summary().points)
    expect(Object.keys(points[0] ?? {})).toEqual(['time', 'feature', 'chart', 'value', 'statistic', 'centre', 'lower', 'upper', 'sigma', 'n', 'recipe', 'state', 'baseline'])
    const beyond = told('rule-hits').filter((hit) => hit['rule'] === 'one-beyond-three-sigma')
    expect(beyond.length).toBeGreaterThan(0)
    for (const hit of beyond) {
      const point = points.find((candidate) => candidate['time'] === hit['time'] && candidate['chart'] === hit['chart'] && candidate['feature'] === hit['feature'])
      expect(hit['points']).toEqual([hit['time']])
      expect(Math.abs(Number(point?.['statistic']) - Number(point?.['centre'])) / Number(point?.['sigma'])).toBeGreaterThan(3)
    }
    expect(told('signals').some((signal) => signal['phase'] === 'start' && signal['side'] === 'above' && String(signal['time']) >= '2026-03-02T15:00')).toBe(true)
  })

  it('gives the same bytes twice', async () => {
    const readings = file('t.csv', twoColumns(600))
    await replay(readings, ...oneChannel, '--columns', 'time=timestamp')
    const first = readFileSync(join(folder, 'out', 'points.jsonl'), 'utf8')
    await replay(readings, ...oneChannel, '--columns', 'time=timestamp')
    expect(readFileSync(join(folder, 'out', 'points.jsonl'), 'utf8')).toBe(first)
    expect(first.length).toBeGreaterThan(1000)
  })

  it('writes every n-th point when thinned, and still counts all', async () => {
    const readings = file('t.csv', twoColumns(600))
    await replay(readings, ...oneChannel, '--columns', 'time=timestamp')
    const all = told('points').length
    await replay(readings, ...oneChannel, '--columns', 'time=timestamp', '--thin', '10')
    expect(summary().points).toBe(all)
    expect(told('points').length).toBeLessThan(all / 8)
    expect(told('points').length).toBeGreaterThan(all / 12)
  })
})

describe('replay of a line', () => {
  const line = JSON.stringify({ line: 'line-a', channels: [{ channel: 'pot.level', unit: 'mm' }, { channel: 'conveyor.speed', unit: 'm/min' }, { channel: 'line.recipe' }] })
  const row = (second: number): string => new Date(START_MS + second * 1000).toISOString()

  it('reads long, wide and JSON-lines forms of the same readings to the same answers', async () => {
    const definition = file('line.json', line)
    const rows = Array.from({ length: 400 }, (_, index) => ({ time: row(index * 30), level: (Math.sin(index) * 0.2).toFixed(3), speed: (1.2 + Math.cos(index) / 1000).toFixed(4) }))
    const long = file('long.csv', `time,channel,value\n${rows.map(({ time, level, speed }) => `${time},pot.level,${level}\n${time},conveyor.speed,${speed}`).join('\n')}\n`)
    const wide = file('wide.csv', `time;pot.level;conveyor.speed;note\n${rows.map(({ time, level, speed }) => `${time};${level.replace('.', ',')};${speed.replace('.', ',')};x`).join('\n')}\n`)
    const json = file('r.jsonl', `${rows.map(({ time, level, speed }) => JSON.stringify({ time, 'pot.level': Number(level), 'conveyor.speed': Number(speed) })).join('\n')}\n`)
    const answers: string[] = []
    for (const path of [long, wide, json]) {
      expect(await replay(path, '--line', definition)).toBe(0)
      expect(summary().readings).toMatchObject({ read: 800, taken: 800, rejected: 0 })
      answers.push(readFileSync(join(folder, 'out', 'states.jsonl'), 'utf8') + readFileSync(join(folder, 'out', 'points.jsonl'), 'utf8'))
    }
    expect(answers[1]).toBe(answers[0])
    expect(answers[2]).toBe(answers[0])
    await replay(wide, '--line', definition)
    expect(summary().ignoredColumns).toEqual(['note'])
  })

  it('rejects what is wrong with its reason and takes the rest', async () => {
    const definition = file('line.json', line)
    const readings = file('bad.csv', ['time,channel,value', `${row(0)},pot.level,0.1`, `${row(30)},pot.level,abc`, `yesterday,pot.level,0.1`, `${row(60)},pot.levle,0.1`, `${row(90)},pot.level,9999`, `${row(120)},pot.level,0.2`].join('\n'))
    expect(await replay(readings, '--line', definition)).toBe(0)
    expect(summary().readings.taken).toBe(2)
    expect(told('rejected').map(({ reason }) => reason).sort()).toEqual(['bad-time', 'impossible-value', 'unknown-channel', 'unreadable-payload'].map((reason) => reason).sort())
    for (const rejection of told('rejected')) expect(rejection).toMatchObject({ time: expect.any(String), where: expect.any(String), found: expect.any(String), expected: expect.any(String) })
  })

  it('counts a flood of the same rejection instead of writing each', async () => {
    const definition = file('line.json', line)
    const readings = file('flood.csv', `time,channel,value\n${Array.from({ length: 1000 }, (_, index) => `${row(index)},pot.level,9999`).join('\n')}\n`)
    await replay(readings, '--line', definition)
    const rejected = told('rejected')
    expect(rejected).toHaveLength(101)
    expect(rejected.at(-1)).toMatchObject({ reason: 'impossible-value', where: 'pot.level', more: 900 })
    expect(summary().readings.rejectedByReason).toEqual({ 'impossible-value': 1000 })
  })

  it('goes on behind a broken line of JSON', async () => {
    const definition = file('line.json', line)
    const readings = file('r.jsonl', `{"time":"${row(0)}","channel":"pot.level","value":0.1}\n{"time":\n[1]\n{"time":"${row(30)}","channel":"pot.level","value":0.2}\n`)
    await replay(readings, '--line', definition)
    expect(summary().readings).toMatchObject({ read: 4, taken: 2, rejectedByReason: { 'unreadable-payload': 2 } })
    expect(told('rejected').map(({ where }) => where)).toEqual(['line 2', 'line 3'])
  })

  it('names the line of a CSV file where a stray quote makes it unreadable', async () => {
    const definition = file('line.json', line)
    const rows = Array.from({ length: 100 }, (_, index) => `${row(index)},pot.level,0.1`)
    rows[60] = `${row(60)},"pot.level,0.1`
    rows[61] = `${row(61)},pot.level,"0.1"`
    await expect(replay(file('quote.csv', `time,channel,value\n${rows.join('\n')}\n`), '--line', definition)).rejects.toThrow(/quote\.csv, line 63 cannot be read as CSV/)
  })

  it('reads a local time in the zone that is given, both passes of the repeated hour', async () => {
    const definition = file('line.json', line)
    const times = ['2026-10-25 01:30:00', '2026-10-25 02:30:00', '2026-10-25 02:30:00', '2026-10-25 03:30:00']
    const readings = file('dst.csv', `time,channel,value\n${times.map((time, index) => `${time},pot.level,0.${index}`).join('\n')}\n`)
    await replay(readings, '--line', definition, '--time-zone', 'Europe/Madrid')
    expect(summary()).toMatchObject({ from: '2026-10-24T23:30:00.000Z', to: '2026-10-25T02:30:00.000Z', readings: { read: 4 } })
  })
})

describe('replay used wrongly', () => {
  it.each([
    [['--out', 'x'], /needs --readings/],
    [['--readings', '/no/such/file.csv', '--out', 'x'], /no file/],
  ])('says what is missing: %j', async (args, message) => {
    await expect(runReplay(args)).rejects.toThrow(message)
    await expect(runReplay(args)).rejects.toThrow(UsageError)
  })

  it('names the columns a file has when none fits', async () => {
    const readings = file('t.csv', 'when,what\n1,2\n')
    await expect(replay(readings, ...oneChannel)).rejects.toThrow('it has: when, what')
  })

  it('refuses a record without a time, naming its line', async () => {
    const readings = file('t.csv', twoColumns(20))
    const records = file('records.jsonl', '{"section":"pot","work":"skim-dross"}\n')
    await expect(replay(readings, ...oneChannel, '--columns', 'time=timestamp', '--records', records)).rejects.toThrow(/line 1: expected a time/)
  })

  it('refuses a folder as readings, and a time zone that is none, even if every time names its own', async () => {
    await expect(replay(folder, ...oneChannel)).rejects.toThrow('is a folder; expected a file')
    await expect(replay(file('t.csv', twoColumns(5)), ...oneChannel, '--time-zone', 'Mars/Olympus')).rejects.toThrow('--time-zone: "Mars/Olympus"')
  })

  it('refuses a channel nobody knows', async () => {
    await expect(replay(file('t.csv', twoColumns(5)), '--channel', 'oven.mood')).rejects.toThrow('unknown channel "oven.mood"')
  })
})
