import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { readDefinitionFile } from '../../src/service/definition-file.js'
import { outputText } from '../../src/service/output-json.js'
import { runReplay } from '../../src/service/replay-command.js'
import { acquireSite, releaseSite, type Site } from '../../src/service/site.js'
import { demoConfig, samplesAsMessage } from '../../src/simulator/demo-line.js'
import { describeLine } from '../../src/simulator/line-description.js'
import { createSimulation } from '../../src/simulator/simulation.js'
import { LONG_FORM_HEADER, longFormRows } from '../../src/simulator/telemetry-file.js'

let folder = ''
let site: Site

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'same-'))
  site = await acquireSite({ dataFolder: join(folder, 'data'), log: () => undefined })
  vi.spyOn(process.stdout, 'write').mockImplementation(() => true)
  vi.spyOn(process.stderr, 'write').mockImplementation(() => true)
})

afterEach(async () => {
  vi.restoreAllMocks()
  await releaseSite(site)
  rmSync(folder, { recursive: true, force: true })
})

const KINDS = { points: 'point', 'rule-hits': 'rule-hit', signals: 'signal', states: 'state' } as const

describe('one trace', () => {
  it('gives the same points, rule hits, signals and states live, through a restart, and in replay', { timeout: 120_000 }, async () => {
    const config = { ...demoConfig({ seed: 11, line: 'faulty', startMs: Date.UTC(2026, 0, 5) }), durationHours: 40 }
    const lineFile = join(folder, 'line.json')
    writeFileSync(lineFile, JSON.stringify(describeLine(config, { line: 'north-1' })))
    const definition = readDefinitionFile(lineFile)

    const live: Record<string, string[]> = { points: [], 'rule-hits': [], signals: [], states: [] }
    const openLine = (): void => {
      const line = site.openLine({ definition, stages: undefined, mqtt: false })
      for (const [name, kind] of Object.entries(KINDS)) line.onOutput([kind], ({ output }) => live[name]?.push(outputText(output)))
    }
    openLine()
    const simulation = createSimulation(config)
    let rows = LONG_FORM_HEADER
    for (let batch = 0; ; batch += 1) {
      const ticks: string[] = []
      for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
        ticks.push(samplesAsMessage(sample))
        rows += longFormRows(sample)
        if (ticks.length === 700) break
      }
      if (ticks.length === 0) break
      const line = site.line('north-1')!
      const { seq } = await line.submit({ kind: 'message', topic: 'wave-solder/north-1/telemetry', payload: `[${ticks.join(',')}]` })
      if (batch % 20 === 10) {
        await site.closeLine('north-1', { archive: false })
        openLine()
      } else await line.stepped(seq)
    }
    const line = site.line('north-1')!
    await line.stepped((await line.submit({ kind: 'end-of-data' })).seq)

    const readings = join(folder, 'readings.csv')
    writeFileSync(readings, rows)
    expect(await runReplay(['--line', lineFile, '--readings', readings, '--out', join(folder, 'out')])).toBe(0)
    for (const name of Object.keys(KINDS)) {
      const replayed = readFileSync(join(folder, 'out', `${name}.jsonl`), 'utf8').split('\n').filter((text) => text !== '')
      expect(live[name]?.length, name).toBe(replayed.length)
      expect(live[name]?.findIndex((text, index) => text !== replayed[index]), name).toBe(-1)
    }
    expect(live['points']?.length).toBeGreaterThan(1000)
    const stored = site.store.points({ line: 'north-1', feature: 'pot.level.slope' }).map((body) => outputText({ kind: 'point', body }))
    expect(stored).toEqual(live['points']?.filter((text) => text.includes('"pot.level.slope"')))
  })
})
