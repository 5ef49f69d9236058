import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { parseLineDefinition } from '../../../src/line/line-definition.js'
import { runSimulate } from '../../../src/service/simulate-command.js'

let folder: string
let printed: string
let complained: string
const print = (text: string): void => {
  printed += text
}

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'simulate-'))
  printed = ''
  complained = ''
  vi.spyOn(process.stderr, 'write').mockImplementation((text) => {
    complained += String(text)
    return true
  })
})

afterEach(() => {
  vi.restoreAllMocks()
  rmSync(folder, { recursive: true, force: true })
})

const file = (name: string): string => readFileSync(join(folder, name), 'utf8')

describe('simulate', () => {
  it('writes readings, truth and a line definition that fit together', async () => {
    expect(await runSimulate(['--seed', '7', '--days', '1.5', '--fault', 'dirty-chain', '--channels', 'minimum', '--onset', '10', '--growth', '4', '--severity', '0.8', '--out', folder], print)).toBe(0)
    const rows = file('readings.csv').trimEnd().split('\n')
    expect(rows[0]).toBe('time,channel,value')
    expect(printed).toContain(`${rows.length - 1} readings of`)
    expect(printed).toContain('dirty-chain from 2026-01-05T10:00Z')
    const truth = JSON.parse(file('truth.json')) as { faults: unknown[]; moments: { time: string; severities: { cause: string; severity: number }[] }[] }
    expect(truth.faults).toMatchObject([{ cause: 'dirty-chain', onset: '2026-01-05T10:00:00.000Z', severityEnd: 0.8 }])
    expect(truth.moments.at(-1)!.severities.find(({ cause }) => cause === 'dirty-chain')!.severity).toBeCloseTo(0.8, 2)
    const definition = parseLineDefinition(JSON.parse(file('line.json')))
    if (definition.kind === 'faults') throw new Error(JSON.stringify(definition.faults))
    expect(definition.definition).toMatchObject({ line: 'sim-7', simulated: true })
    expect(new Set(rows.slice(1).map((row) => row.split(',')[1]))).toEqual(new Set(definition.definition.channels.map(({ channel }) => channel)))
  })

  it('gives the same bytes for the same seed', async () => {
    const args = ['--seed', '3', '--days', '0.4', '--channels', 'rich', '--out', folder]
    await runSimulate(args, print)
    const first = file('readings.csv') + file('truth.json')
    await runSimulate(args, print)
    expect(file('readings.csv') + file('truth.json')).toBe(first)
  })

  it('writes wide form, chosen channels, one period, a start of its own and the demonstration', async () => {
    expect(await runSimulate(['--form', 'wide', '--days', '0.1', '--channels', 'pot.level,conveyor.speed', '--period', '60', '--start', '2026-03-02T06:00', '--fault', 'none', '--quiet-life', '--line', 'line-x', '--out', folder], print)).toBe(0)
    const rows = file('readings.csv').trimEnd().split('\n')
    expect(rows[0]).toBe('time,conveyor.speed,pot.level')
    expect(rows).toHaveLength(145)
    expect(rows[1]).toMatch(/^2026-03-02T06:01:00\.000Z,/)
    expect(JSON.parse(file('line.json'))).toMatchObject({ line: 'line-x' })
    expect(await runSimulate(['--demo', 'healthy', '--days', '0.3', '--out', folder], print)).toBe(0)
    expect(JSON.parse(file('truth.json'))).toMatchObject({ faults: [] })
  })

  it('explains itself and says what is wrong, with exit code 2', async () => {
    expect(await runSimulate(['--help'], print)).toBe(0)
    expect(printed).toContain('--fault <cause>')
    const wrong: readonly (readonly [string[], string])[] = [
      [[], '--out'],
      [['--out', folder, '--seed', 'x'], '--seed: "x" is not a whole number'],
      [['--out', folder, '--days', '0'], '--days: "0" is not a number above 0'],
      [['--out', folder, '--fault', 'gremlins'], 'there is no "gremlins"'],
      [['--out', folder, '--channels', 'pot.lvl'], '"pot.lvl"'],
      [['--out', folder, '--fault', 'clogged-blower', '--zone', '9'], 'zone 9'],
      [['--out', folder, '--severity', '3'], 'severityEnd is 3'],
      [['--out', folder, '--start', 'soon'], '--start: "soon"'],
      [['--out', folder, '--form', 'tall'], '--form: "tall" is not long or wide'],
      [['--out', folder, '--line', 'Line A'], 'line:'],
      [['--out', folder, '--bogus'], '--bogus'],
    ]
    for (const [args, text] of wrong) {
      complained = ''
      expect(await runSimulate(args, print), args.join(' ')).toBe(2)
      expect(complained).toContain(text)
    }
  })
})
