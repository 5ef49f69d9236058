import { describe, expect, it } from 'vitest'
import { badges, benchLine, collect, errors, lineNode, load, node, unload, useNodeRed, type FlowNode } from './node-red-harness.js'
import { describeLine } from '../../src/simulator/line-description.js'
import { demoConfig } from '../../src/simulator/demo-line.js'

useNodeRed()

const START_MS = Date.UTC(2026, 0, 5)

function simulatedLine(plant: 'faulty' | 'healthy', seed: number): FlowNode {
  return { ...benchLine(), definition: JSON.stringify(describeLine(demoConfig({ seed, line: plant, startMs: START_MS }), { line: 'north-1' })) }
}

const simulator = (seed: number, more: Record<string, unknown> = {}): FlowNode => ({ id: 'simulator', type: 'line-simulator', name: '', line: 'line', plant: 'faulty', seed, speed: 100_000, autostart: true, wires: [['clock']], ...more })
const queue: FlowNode = { id: 'queue', type: 'maintenance-queue', name: '', line: 'line', wires: [['suggestions']] }
const diagnosis: FlowNode = { id: 'diagnosis', type: 'section-diagnosis', name: '', line: 'line', wires: [['diagnoses']] }
const sink = (id: string): FlowNode => ({ id, type: 'helper' })
const catcher = (scope: string): FlowNode[] => [{ id: 'catch', type: 'catch', scope: [scope], wires: [['caught']] }, sink('caught')]

describe('a simulated line', () => {
  it('learns, diagnoses, suggests, and takes the replies of people', { timeout: 240_000 }, async () => {
    await load([simulatedLine('faulty', 7), simulator(7), diagnosis, queue, sink('diagnoses'), sink('suggestions'), sink('clock'), ...catcher('queue')])
    const diagnoses = collect('diagnoses')
    const suggestions = collect('suggestions')
    const caught = collect('caught')
    const diagnosisBadges = badges('diagnosis')
    await expect.poll(() => suggestions.length, { timeout: 200_000, interval: 200 }).toBeGreaterThan(0)
    node('simulator').receive({ payload: 'stop' } as never)
    const suggestion = suggestions[0]?.payload
    expect(suggestion).toMatchObject({ schemaVersion: 1, line: 'north-1', status: 'open', causes: expect.any(Array), evidence: expect.any(Array), cautions: expect.any(Array), checkFirst: { check: expect.any(String) } })
    expect(suggestion?.['cautions']).not.toEqual([])
    expect(diagnoses.length).toBeGreaterThan(0)
    expect(diagnoses.at(-1)?.payload['symptoms']).toBeInstanceOf(Array)
    expect((diagnoses.at(-1)?.payload['symptoms'] as unknown[]).length).toBeGreaterThan(0)
    // As long as nothing is learned it does not say that all is well; then it names a cause.
    expect(diagnosisBadges.find(({ text }) => text?.startsWith('section-diagnosis.status.') ?? false)).toEqual({ fill: 'grey', shape: 'ring', text: 'section-diagnosis.status.learning' })
    await expect.poll(() => diagnosisBadges.some(({ fill, text }) => fill === 'yellow' && /^section-diagnosis\.status\.(cause|undecided)/.test(text ?? ''))).toBe(true)

    const id = String(suggestion?.['id'])
    node('queue').receive({ payload: { suggestion: id, action: 'take', by: 'Robin' } } as never)
    await expect.poll(() => suggestions.some(({ payload }) => payload['id'] === id && payload['status'] === 'taken')).toBe(true)
    node('queue').receive({ payload: JSON.stringify({ section: 'preheat', zone: 1, work: 'clean-thermocouple', time: '2026-01-09T12:00:00Z' }) } as never)
    for (const payload of ['rubbish', { suggestion: id, action: 'eat' }, { suggestion: id, action: 'decline' }, { suggestion: 'nobody', action: 'take' }, { work: 'clean-thermocouple' }, { section: 'oven', work: 'x' }]) node('queue').receive({ payload } as never)
    await expect.poll(() => caught.length).toBe(6)
    const store = lineNode('line').port.runningLine?.store
    const last = store?.readJournal('north-1', Math.max(0, store.lastSeq('north-1') - 50), 100).events ?? []
    expect(last.filter(({ kind }) => kind === 'record')).toEqual([expect.objectContaining({ record: expect.objectContaining({ work: 'clean-thermocouple', zone: 1 }) })])
    expect(last.filter(({ kind }) => kind === 'reply')).toHaveLength(2)
  })

  it('goes on after a restart where it stopped, and its clock never goes back', async () => {
    const flow = [simulatedLine('healthy', 3), simulator(3, { plant: 'healthy', speed: 20_000 }), { id: 'telemetry', type: 'line-telemetry', name: '', line: 'line', channel: '', wires: [['readings'], [], [], ['rejected']] } as FlowNode, sink('readings'), sink('rejected'), sink('clock')]
    await load(flow)
    let readings = collect('readings')
    await expect.poll(() => readings.length, { timeout: 20_000 }).toBeGreaterThan(3000)
    await unload()
    const lastTime = readings.map(({ payload }) => String(payload['time'])).sort().at(-1) ?? ''
    await load(flow)
    readings = collect('readings')
    const rejected = collect('rejected')
    await expect.poll(() => readings.length, { timeout: 20_000 }).toBeGreaterThan(1000)
    // What the line was still holding back comes first; nothing is published twice.
    expect(rejected).toEqual([])
    const perChannel = readings.filter(({ payload }) => payload['channel'] === 'conveyor.speed').map(({ payload }) => String(payload['time']))
    expect([...perChannel].sort()).toEqual(perChannel)
    expect((perChannel.at(-1) ?? '') > lastTime).toBe(true)
  })

  it('starts and stops when told, and hands any other word to Catch', async () => {
    await load([simulatedLine('healthy', 3), simulator(3, { autostart: false }), sink('clock'), ...catcher('simulator')])
    const shown = badges('simulator')
    const caught = collect('caught')
    const clock = collect('clock')
    node('simulator').receive({ payload: 'start' } as never)
    await expect.poll(() => shown.some(({ text }) => text === 'line-simulator.status.running')).toBe(true)
    node('simulator').receive({ payload: 'stop' } as never)
    await expect.poll(() => shown.at(-1)?.text).toBe('line-simulator.status.stopped')
    await expect.poll(() => clock.at(-1)?.payload).toMatchObject({ running: false, ended: false })
    node('simulator').receive({ payload: 'dance' } as never)
    await expect.poll(() => caught.length).toBe(1)
  })

  it('refuses a line that is not marked as simulated', async () => {
    await load([benchLine({ simulated: false }), simulator(3), sink('clock'), ...catcher('simulator')])
    const caught = collect('caught')
    expect(errors()).toContain('line-simulator.error.not-simulated')
    node('simulator').receive({ payload: 'start' } as never)
    await expect.poll(() => caught.length).toBe(1)
    expect(lineNode('line').port.runningLine?.projection.dataMs).toBeUndefined()
  })

  it('section-diagnosis takes nothing but what its line sends', async () => {
    await load([benchLine(), diagnosis, sink('diagnoses'), ...catcher('diagnosis')])
    const caught = collect('caught')
    node('diagnosis').receive({ payload: 1 } as never)
    node('diagnosis').receive({ payload: 1, solder: { line: 'bench', seq: 1 } } as never)
    await expect.poll(() => caught.length).toBe(1)
  })
})
