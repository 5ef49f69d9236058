import { describe, expect, it } from 'vitest'
import { badges, benchLine, benchValue, collect, load, node, unload, useNodeRed, type FlowNode } from './node-red-harness.js'

useNodeRed()

const alone: FlowNode = { id: 'chart', type: 'control-chart', name: 'oil', line: '', feature: '', property: 'payload', byTopic: false, learn: 50, falseEvery: 1000, wires: [['points'], ['hits'], ['signals'], ['ends']] }
const sinks = ['points', 'hits', 'signals', 'ends'].map((id) => ({ id, type: 'helper' }))
const catcher = [{ id: 'catch', type: 'catch', scope: ['chart'], wires: [['caught']] }, { id: 'caught', type: 'helper' }]

function feed(from: number, to: number, shiftAt = Infinity, more: Record<string, unknown> = {}): void {
  for (let index = from; index < to; index += 1) {
    const { payload, time } = benchValue(index, shiftAt)
    node('chart').receive({ payload, time, ...more } as never)
  }
}

describe('control-chart without a line', () => {
  it('gives points, rule hits and one signal start, each on its own output', async () => {
    await load([alone, ...sinks])
    const [points, hits, signals] = ['points', 'hits', 'signals'].map(collect) as [ReturnType<typeof collect>, ReturnType<typeof collect>, ReturnType<typeof collect>]
    feed(0, 400, 300)
    await expect.poll(() => points.length).toBeGreaterThan(300)
    await expect.poll(() => signals.length).toBeGreaterThan(0)
    expect(points[0]?.payload).toMatchObject({ feature: 'oil', chart: expect.any(String), centre: expect.any(Number), lower: expect.any(Number), upper: expect.any(Number) })
    const starts = signals.filter(({ payload }) => payload['phase'] === 'start')
    expect(starts.map(({ payload }) => payload['side'])).toEqual(['above'])
    expect(String(starts[0]?.payload['time']) >= benchValue(300).time).toBe(true)
    expect(hits.length).toBeGreaterThan(0)
    expect(hits[0]?.payload).toMatchObject({ rule: expect.any(String), side: expect.stringMatching(/above|below/), points: expect.any(Array) })
  })

  it('tells on an output of its own when a rule hit is over, each end after its hit', async () => {
    await load([alone, ...sinks])
    const [points, hits, ends] = ['points', 'hits', 'ends'].map(collect) as [ReturnType<typeof collect>, ReturnType<typeof collect>, ReturnType<typeof collect>]
    feed(0, 200)
    feed(200, 212, 200)
    feed(212, 300)
    await expect.poll(() => points.length).toBeGreaterThan(300)
    await expect.poll(() => ends.length).toBeGreaterThan(1)
    for (const { payload } of ends) {
      expect(payload).not.toHaveProperty('points')
      const { time, rule, side } = payload as { time: string; rule: string; side: string }
      const count = (all: typeof ends): number => all.filter((each) => each.payload['rule'] === rule && each.payload['side'] === side && String(each.payload['time']) <= time).length
      expect(count(hits) - count(ends)).toBe(0)
    }
  })

  it('says on its badge that its state is in memory only, and forgets it', async () => {
    await load([alone, ...sinks])
    const shown = badges('chart')
    feed(0, 10)
    await expect.poll(() => shown.at(-1)?.text).toBe('control-chart.status.learning')
    await unload()
    await load([alone, ...sinks])
    const points = collect('points')
    const again = badges('chart')
    feed(10, 12)
    await expect.poll(() => again.filter(({ text }) => text === 'control-chart.status.learning').length).toBe(2)
    // Twelve values would have been enough for points; two are not.
    expect(points).toEqual([])
  })

  it('goes on after a redeploy where a line keeps a store', async () => {
    await load([alone, ...sinks, benchLine()])
    feed(0, 40)
    const points = collect('points')
    await expect.poll(() => points.length).toBeGreaterThan(10)
    await unload()
    await load([alone, ...sinks, benchLine()])
    const after = collect('points')
    feed(40, 41)
    await expect.poll(() => after.length).toBeGreaterThan(0)
    expect(Number(after[0]?.payload['n'])).toBeGreaterThan(30)
  })

  it('keeps a chart for each topic when told to', async () => {
    await load([{ ...alone, byTopic: true }, ...sinks])
    const points = collect('points')
    for (let index = 0; index < 40; index += 1) {
      node('chart').receive({ topic: 'a', payload: benchValue(index).payload, time: benchValue(index).time } as never)
      node('chart').receive({ topic: 'b', payload: 1000 + benchValue(index).payload, time: benchValue(index).time } as never)
    }
    await expect.poll(() => new Set(points.map(({ payload }) => payload['feature'])).size).toBe(2)
    for (const { payload } of points.filter(({ payload: body }) => body['feature'] === 'a' && body['chart'] === 'individuals')) expect(Number(payload['centre'])).toBeLessThan(100)
  })

  it('takes the value from another property and keeps the rest of the msg', async () => {
    await load([{ ...alone, property: 'reading.value' }, ...sinks])
    const points = collect('points')
    for (let index = 0; index < 20; index += 1) node('chart').receive({ reading: { value: benchValue(index).payload }, lot: 'L7', time: benchValue(index).time } as never)
    await expect.poll(() => points.length).toBeGreaterThan(3)
    expect(points[0]?.['lot']).toBe('L7')
  })

  it.each([['text', 'warm'], ['nothing', undefined], ['NaN', NaN], ['infinity', Infinity], ['an object', { value: 1 }], ['a giant', 1e200]])('hands %s to Catch and goes on', async (_what, payload) => {
    await load([alone, ...sinks, ...catcher])
    const caught = collect('caught')
    const points = collect('points')
    node('chart').receive({ payload } as never)
    await expect.poll(() => caught.length).toBe(1)
    feed(0, 20)
    await expect.poll(() => points.length).toBeGreaterThan(3)
  })

  it('refuses a configuration it cannot use, and every msg with it', async () => {
    await load([{ ...alone, learn: '5' }, ...sinks, ...catcher])
    const caught = collect('caught')
    feed(0, 1)
    await expect.poll(() => caught.length).toBe(1)
  })
})

describe('control-chart of a line', () => {
  const ofLine: FlowNode = { ...alone, name: '', line: 'line', feature: 'custom.temperature.value' }
  const telemetry: FlowNode = { id: 'telemetry', type: 'line-telemetry', name: '', line: 'line', channel: '', wires: [[], ['chart'], [], []] }

  it('shows the feature it is set to, with facts that carry line and place', async () => {
    await load([benchLine(), telemetry, ofLine, ...sinks])
    const points = collect('points')
    for (let index = 0; index < 60; index += 1) node('telemetry').receive(benchValue(index) as never)
    await expect.poll(() => points.length).toBeGreaterThan(10)
    expect(points[0]).toMatchObject({ topic: 'bench/custom.temperature.value', solder: { line: 'bench' }, payload: { feature: 'custom.temperature.value' } })
    // One value chart point a feature value: the features on the wire were not charted a second time.
    const times = points.filter(({ payload }) => payload['chart'] === 'individuals' || payload['chart'] === 'residual').map(({ payload }) => payload['time'])
    expect(new Set(times).size).toBe(times.length)
  })

  it('tells ends of rule hits of the line', async () => {
    await load([benchLine(), { ...ofLine, feature: '' }, ...sinks])
    const ends = collect('ends')
    const risen = (index: number): boolean => index >= 200 && index < 212
    for (let index = 0; index < 300; index += 1) {
      const { payload, time } = benchValue(index, risen(index) ? 200 : Infinity)
      node('chart').receive({ feature: 'custom.temperature.value', payload, time } as never)
    }
    await expect.poll(() => ends.length).toBeGreaterThan(0)
    expect(ends[0]).toMatchObject({ topic: 'bench/custom.temperature.value', solder: { line: 'bench' }, payload: { rule: expect.any(String), side: expect.stringMatching(/above|below/) } })
  })

  it('takes a value of the user through the journal', async () => {
    await load([benchLine(), { ...ofLine, feature: '' }, ...sinks])
    const points = collect('points')
    for (let index = 0; index < 40; index += 1) node('chart').receive({ feature: 'custom.temperature.value', payload: benchValue(index).payload, time: benchValue(index).time } as never)
    await expect.poll(() => points.length).toBeGreaterThan(10)
  })

  it('hands a msg without number or feature to Catch', async () => {
    await load([benchLine(), { ...ofLine, feature: '' }, ...sinks, ...catcher])
    const caught = collect('caught')
    node('chart').receive({ topic: 'x', payload: 'warm' } as never)
    node('chart').receive({ payload: 5 } as never)
    await expect.poll(() => caught.length).toBe(2)
  })
})
