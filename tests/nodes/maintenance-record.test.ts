import { describe, expect, it } from 'vitest'
import { badges, benchLine, collect, load, node, unload, useNodeRed, type FlowNode } from './node-red-harness.js'

useNodeRed()

const LINE = { ...benchLine(), definition: JSON.stringify({ line: 'line-a' }) }
const records: FlowNode = { id: 'records', type: 'maintenance-record', name: '', line: 'line', wires: [['facts']] }
const sink = (id: string): FlowNode => ({ id, type: 'helper' })
const FLOW: FlowNode[] = [LINE, records, sink('facts'), { id: 'catch', type: 'catch', scope: ['records'], wires: [['caught']] }, sink('caught')]

describe('maintenance-record', () => {
  it('takes records and entries, sends what they lead to, and says on its badge that the line must not start', async () => {
    await load(FLOW)
    const facts = collect('facts')
    const caught = collect('caught')
    const shown = badges('records')
    node('records').receive({ payload: { section: 'transport', work: 'clean-chain', finding: 3, minutes: 90 } } as never)
    await expect.poll(() => facts.filter(({ payload }) => payload['type'] === 'job').length).toBeGreaterThan(1)
    expect(facts.find(({ payload }) => payload['type'] === 'record')).toMatchObject({ topic: 'line-a/fact', payload: { record: { work: 'clean-chain', finding: 3 }, withdrawn: false, time: expect.stringMatching(/Z$/) } })
    expect(facts.find(({ payload }) => payload['type'] === 'job' && payload['work'] === 'clean-chain')).toMatchObject({ payload: { status: 'half-done', doNotStart: 'washed-not-lubricated', doNotStartSince: expect.stringMatching(/Z$/) } })
    await expect.poll(() => shown.at(-1)).toMatchObject({ fill: 'red', text: 'maintenance-record.status.do-not-start' })

    for (const payload of ['rubbish', { work: 'x' }, { section: 'pot', work: 'paint-it' }, { section: 'transport', work: 'lubricate-chain', product: 'silicone-lubricant' }, { type: 'job', action: 'take', job: 'nobody' }]) node('records').receive({ payload } as never)
    await expect.poll(() => caught.length).toBe(5)
    expect(facts.filter(({ payload }) => payload['type'] === 'refused').map(({ payload }) => payload['reason']).sort()).toEqual(['job.unknown', 'record.product-silicone', 'record.unknown-work'])

    node('records').receive({ payload: JSON.stringify({ section: 'transport', work: 'lubricate-chain' }) } as never)
    await expect.poll(() => facts.some(({ payload }) => payload['type'] === 'job' && payload['work'] === 'clean-chain' && payload['status'] === 'done')).toBe(true)
    await expect.poll(() => shown.at(-1)?.fill).not.toBe('red')
  })

  it('knows after a restart what was half done before it', async () => {
    await load(FLOW)
    let facts = collect('facts')
    node('records').receive({ payload: { section: 'transport', work: 'clean-chain' } } as never)
    await expect.poll(() => facts.some(({ payload }) => payload['doNotStart'] === 'washed-not-lubricated')).toBe(true)
    await unload()
    await load(FLOW)
    facts = collect('facts')
    const shown = badges('records')
    await expect.poll(() => shown.at(-1), { timeout: 10_000 }).toMatchObject({ fill: 'red' })
    node('records').receive({ payload: { section: 'transport', work: 'lubricate-chain' } } as never)
    await expect.poll(() => facts.some(({ payload }) => payload['work'] === 'clean-chain' && payload['status'] === 'done')).toBe(true)
  })
})
