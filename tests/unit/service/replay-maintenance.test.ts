import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { runReplay } from '../../../src/service/replay-command.js'

const START_MS = Date.UTC(2026, 0, 5)
let folder = ''

const at = (hours: number): string => new Date(START_MS + hours * 3_600_000).toISOString()

/** A day and a half of production; the drive's current rises from hour 18 on and falls back after the work of hour 26. */
function readings(): string {
  const rows = ['time,preheat.zone-1.temperature,preheat.zone-2.temperature,preheat.zone-3.temperature,conveyor.speed,conveyor.current,line.state']
  for (let minute = 0; minute < 36 * 60; minute += 1) {
    const hour = minute / 60
    const dirt = hour < 18 || hour >= 26 ? 0 : 0.02 * Math.min(5, hour - 18)
    const wave = (k: number): number => Math.sin(minute * 12.9898 * k) * 0.6 + Math.sin(minute * 78.233 * k) * 0.4
    rows.push([at(hour), (110 + 0.2 * wave(1)).toFixed(2), (130 + 0.2 * wave(1.3)).toFixed(2), (150 + 0.2 * wave(1.7)).toFixed(2), (20 + 0.1 * wave(2.1)).toFixed(3), (0.76 + dirt + 0.004 * wave(0.7)).toFixed(4), 'production'].join(','))
  }
  return rows.join('\n')
}

const LINE = {
  line: 'north-1', title: 'North 1', simulated: true,
  channels: [...[1, 2, 3].map((zone) => ({ channel: `preheat.zone-${zone}.temperature`, periodS: 60 })), { channel: 'conveyor.speed', periodS: 60 }, { channel: 'conveyor.current', periodS: 60 }, { channel: 'line.state', periodS: 60 }],
  shifts: [{ name: 'day', days: ['mon', 'tue', 'wed', 'thu', 'fri'], start: '06:00', end: '22:00', people: 2 }],
}

const RECORDS = [
  { time: at(26), section: 'transport', work: 'clean-rails', finding: 3, minutes: 30 },
  { time: at(27), section: 'fluxer', work: 'clean-nozzle', handCheck: 'passed' },
  { id: 'not-of-the-catalogue', time: at(28), section: 'pot', work: 'polish-everything' },
  { type: 'round', time: at(30), round: 'day', items: [{ check: 'paper-test', ok: true, finding: 0 }] },
  { type: 'change', time: at(31), change: 'flux-lot', text: 'lot 7' },
]

const json = (name: string): Record<string, unknown> => JSON.parse(readFileSync(join(folder, 'out', name), 'utf8')) as Record<string, unknown>
const lines = (name: string): Record<string, unknown>[] => readFileSync(join(folder, 'out', name), 'utf8').trim().split('\n').map((line) => JSON.parse(line) as Record<string, unknown>)

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'replay-maintenance-'))
  writeFileSync(join(folder, 'line.json'), JSON.stringify(LINE))
  writeFileSync(join(folder, 'readings.csv'), readings())
  writeFileSync(join(folder, 'records.jsonl'), RECORDS.map((record) => JSON.stringify(record)).join('\n'))
  await runReplay(['--line', join(folder, 'line.json'), '--readings', join(folder, 'readings.csv'), '--records', join(folder, 'records.jsonl'), '--out', join(folder, 'out')])
}, 60_000)

afterAll(() => rmSync(folder, { recursive: true, force: true }))

describe('replay with records', () => {
  it('writes whether the work helped, in the order of the work', () => {
    const proofs = lines('verifications.jsonl')
    expect(proofs.map(({ work, verdict }) => [work, verdict])).toEqual([['clean-rails', 'helped'], ['clean-nozzle', 'checked-by-hand']])
    expect(proofs[0]).toMatchObject({ section: 'transport', verdictText: 'Helped' })
    // taken in when the data had come so far, a reading or two before
    expect(Math.abs(Date.parse(proofs[0]!['done'] as string) - Date.parse(at(26)))).toBeLessThan(10 * 60_000)
    expect((proofs[0]!['reasons'] as string[])[0]).toMatch(/clearly better than before/)
  })

  it('tells which record was not taken, and why', () => {
    expect(json('summary.json')['refused']).toEqual([{ entry: 'not-of-the-catalogue', reason: 'record.unknown-work' }])
  })

  it('writes the intervals with what stands behind them', () => {
    const { intervals } = json('intervals.json') as { intervals: { id: string; words: string; ageKnown: boolean; age: number; curves: object }[] }
    const rails = intervals.find(({ id }) => id === 'interval-clean-rails')!
    expect(rails).toMatchObject({ ageKnown: true, verdict: 'not-enough-history', curves: { predicted: [] } })
    expect(rails.words).toMatch(/^Not enough history, because /)
    expect(intervals.length).toBeGreaterThan(15)
  })

  it('writes the plan of the week and a report that prints', () => {
    expect(json('plan.json')).toMatchObject({ week: '2026-W02', timeZone: 'UTC' })
    const report = readFileSync(join(folder, 'out', 'report.html'), 'utf8')
    expect(report).toMatch(/^<!doctype html>/i)
    expect(report).toContain('North 1')
    expect(report).toMatch(/Clean the rails/)
  })

  it('takes entries of people beside records of work', () => {
    const facts = lines('facts.jsonl')
    expect(facts.filter(({ type }) => type === 'round')).toHaveLength(1)
    expect(facts.find(({ type, change }) => type === 'change' && change === 'flux-lot')).toMatchObject({ text: 'lot 7' })
  })

  it('says what is wrong with a line of the file, and where', async () => {
    writeFileSync(join(folder, 'bad.jsonl'), `${JSON.stringify(RECORDS[0])}\n{"type":"round","time":"${at(1)}","round":"never","items":[]}\n`)
    const run = runReplay(['--line', join(folder, 'line.json'), '--readings', join(folder, 'readings.csv'), '--records', join(folder, 'bad.jsonl'), '--out', join(folder, 'out2')])
    await expect(run).rejects.toThrow(/bad\.jsonl, line 2: .*round/)
  })
})
