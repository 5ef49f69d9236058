import { beforeAll, describe, expect, it } from 'vitest'
import type { Diagnosis } from '../../src/line/diagnosis.js'
import { parseLineDefinition, type LineDefinition } from '../../src/line/line-definition.js'
import { evidenceText } from '../../src/maintenance/wording.js'
import type { LineEvent } from '../../src/monitor/line-event.js'
import { createLineMonitor } from '../../src/monitor/line-monitor.js'
import type { LineOutput } from '../../src/monitor/line-output.js'
import { describeLine } from '../../src/simulator/line-description.js'
import { createSimulation } from '../../src/simulator/simulation.js'

const HOUR_MS = 3_600_000
const AFTER_HOURS = 8
type Found = 'confirmed' | 'something-else' | 'nothing-found'

let definition: LineDefinition
let snapshot: string
let suggestion: string
/** What the line publishes after it was suggested. */
let after: LineEvent[]

beforeAll(() => {
  const simulation = createSimulation({
    seed: 21, startMs: Date.UTC(2026, 0, 5), durationHours: 24 * 8, channels: 'minimum', periodsS: { 'preheat.zone-<n>.temperature': 20, 'conveyor.speed': 10, 'pot.level': 60, '*': 60 },
    faults: [{ cause: 'dry-chain', onsetHours: 24 * 4 + 8, growthHours: 20 }], benign: { topUps: true },
  })
  const parsed = parseLineDefinition(describeLine(simulation, { line: 'line-a' }))
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  definition = parsed.definition
  const monitor = createLineMonitor(definition)
  let raisedMs: number | undefined
  let seq = 0
  after = []
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
    if (raisedMs !== undefined && sample.timeMs > raisedMs + AFTER_HOURS * HOUR_MS) break
    for (const [channel, value] of sample.values) {
      seq += 1
      const event = { kind: 'value', seq, receivedMs: sample.timeMs, channel, value, time: sample.timeMs } as LineEvent
      if (raisedMs !== undefined) after.push(event)
      else {
        monitor.step(event, (output) => {
          if (output.kind !== 'suggestion' || output.body.section !== 'transport') return
          raisedMs ??= output.body.raisedMs
          suggestion = output.body.id
        })
        if (raisedMs !== undefined) snapshot = JSON.stringify(monitor.snapshot())
      }
    }
  }
  if (raisedMs === undefined) throw new Error('no suggestion about the transport to answer')
}, 60_000)

/** The last diagnosis of the transport after the suggestion was answered, or was not. */
function diagnosisAfter(found: Found | undefined): Diagnosis {
  const monitor = createLineMonitor(definition, JSON.parse(snapshot))
  const outputs: LineOutput[] = []
  const give = (event: LineEvent): void => monitor.step(event, (output) => void (output.kind === 'reading' || outputs.push(output)))
  if (found !== undefined) give({ kind: 'reply', seq: 1, receivedMs: Number((after[0] as { time: number }).time), reply: { suggestion, action: 'done', found, by: 'technician' } } as LineEvent)
  for (const event of after) give(event)
  expect(outputs.filter(({ kind }) => kind === 'note')).toEqual([])
  const last = outputs.flatMap((output) => (output.kind === 'diagnosis' && output.body.features.some((feature) => feature.startsWith('conveyor.')) ? [output.body] : [])).at(-1)
  if (last === undefined) throw new Error(`no diagnosis of the transport after ${found ?? 'no'} answer`)
  return last
}

const transport = ({ causes }: Diagnosis): number => causes.reduce((sum, { section, kind, probability }) => (section === 'transport' && kind === 'fault' ? sum + probability : sum), 0)

const faults = ({ causes }: Diagnosis): number => causes.reduce((sum, { kind, probability }) => (kind === 'fault' ? sum + probability : sum), 0)

describe('what people found', () => {
  it('moves the next diagnosis of the line, and is said in it', () => {
    const unanswered = diagnosisAfter(undefined)
    const confirmed = diagnosisAfter('confirmed')
    const another = diagnosisAfter('something-else')
    const nothing = diagnosisAfter('nothing-found')
    expect(confirmed.timeMs).toBe(unanswered.timeMs)
    expect(transport(confirmed)).toBeGreaterThan(transport(unanswered))
    expect(transport(another)).toBeLessThan(transport(unanswered))
    // Nothing found speaks against the other faults as well.
    expect(faults(nothing)).toBeLessThan(faults(another))
    // One answer is no verdict.
    expect(transport(nothing)).toBeGreaterThan(0.5 * transport(unanswered))
    const said = (diagnosis: Diagnosis): string[] => diagnosis.evidence.filter(({ key }) => key === 'evidence.found-before').map((item) => `${item.stance}: ${evidenceText(item, 'en-US')}`)
    expect(said(unanswered)).toEqual([])
    expect(said(confirmed)).toEqual(['for: Earlier suggestions of this cause on this line: 1 confirmed, 0 turned out to be something else, 0 with nothing found'])
    expect(said(nothing)).toEqual(['against: Earlier suggestions of this cause on this line: 0 confirmed, 0 turned out to be something else, 1 with nothing found'])
    expect(said(another)[0]).toContain('1 turned out to be something else')
  }, 60_000)
})
