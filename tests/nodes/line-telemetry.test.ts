import { describe, expect, it } from 'vitest'
import { badges, benchLine, benchValue, collect, errors, lineNode, load, node, unload, useNodeRed } from './node-red-harness.js'

useNodeRed()

const telemetry = (wires: string[][], more: Record<string, unknown> = {}) => ({ id: 'telemetry', type: 'line-telemetry', name: '', line: 'line', channel: '', wires, ...more })
const helperNode = (id: string) => ({ id, type: 'helper' })
const all = [['readings'], ['features'], ['states'], ['rejected']]
const sinks = ['readings', 'features', 'states', 'rejected'].map(helperNode)

/** Values far enough apart in time that the telemetry stage lets the earlier ones go. */
function feed(count: number, from = 0): void {
  for (let index = from; index < from + count; index += 1) node('telemetry').receive(benchValue(index) as never)
}

describe('line-telemetry', () => {
  it('gives readings, features, line state and rejections, each on its own output, marked with line and place', async () => {
    await load([benchLine(), telemetry(all), ...sinks])
    const [readings, features, states, rejected] = ['readings', 'features', 'states', 'rejected'].map(collect) as [ReturnType<typeof collect>, ReturnType<typeof collect>, ReturnType<typeof collect>, ReturnType<typeof collect>]
    node('telemetry').receive({ channel: 'line.state', payload: 'production', time: benchValue(0).time } as never)
    feed(40)
    node('telemetry').receive({ channel: 'pot.level', payload: 'much', time: benchValue(20).time } as never)
    await expect.poll(() => readings.length).toBeGreaterThan(20)
    await expect.poll(() => features.length).toBeGreaterThan(10)
    await expect.poll(() => rejected.length).toBe(1)
    await expect.poll(() => states.length).toBeGreaterThan(0)
    expect(readings[1]).toMatchObject({ topic: 'bench/custom.temperature', payload: { time: benchValue(0).time, channel: 'custom.temperature' }, solder: { line: 'bench', seq: expect.any(Number) } })
    expect(features[0]).toMatchObject({ payload: { feature: 'custom.temperature.value', value: expect.any(Number) } })
    expect(rejected[0]).toMatchObject({ payload: { reason: 'unreadable-payload', where: 'pot.level' } })
    expect(states[0]).toMatchObject({ payload: { state: expect.any(String), previous: expect.any(String) } })
  })

  it('takes a message on a topic as if it had come over MQTT', async () => {
    await load([benchLine(), telemetry(all), ...sinks])
    const readings = collect('readings')
    for (let index = 0; index < 10; index += 1) node('telemetry').receive({ topic: 'wave-solder/bench/telemetry/pot.level', payload: { v: 0.5, t: benchValue(index).time } } as never)
    await expect.poll(() => readings.length).toBeGreaterThan(3)
    expect(readings[0]?.payload).toEqual({ time: benchValue(0).time, channel: 'pot.level', value: 0.5 })
  })

  it('takes everything as the channel set in the node', async () => {
    await load([benchLine(), telemetry(all, { channel: 'pot.level' }), ...sinks])
    const readings = collect('readings')
    for (let index = 0; index < 10; index += 1) node('telemetry').receive({ payload: index / 10, time: benchValue(index).time } as never)
    await expect.poll(() => readings.length).toBeGreaterThan(3)
    expect(readings[0]?.payload['channel']).toBe('pot.level')
  })

  it('does not take its own facts twice, even through a function node, but those of another line', async () => {
    const other = { ...benchLine({ line: 'other' }), id: 'other-line' }
    const strip = { id: 'through', type: 'function', func: "msg.channel = 'custom.temperature'; msg.time = msg.payload.time; msg.payload = msg.payload.value; return msg", outputs: 1, wires: [['telemetry', 'other-telemetry']] }
    await load([benchLine(), other, telemetry([['through'], [], [], []]), { ...telemetry([['readings'], [], [], []]), id: 'other-telemetry', line: 'other-line' }, strip, helperNode('readings')])
    const readings = collect('readings')
    feed(30)
    await expect.poll(() => readings.length).toBeGreaterThan(10)
    expect(readings[0]?.solder?.line).toBe('other')
    // Stages of the line plus its thirty values, and nothing that came round again.
    await expect.poll(() => lineNode('line').port.runningLine?.status().queued).toBe(0)
    expect(lineNode('line').port.runningLine?.status().processedSeq).toBeLessThanOrEqual(32)
  })

  it('is complete only after the commit', async () => {
    await load([benchLine(), telemetry(all), ...sinks, { id: 'complete', type: 'complete', scope: ['telemetry'], wires: [['completed']] }, helperNode('completed')])
    const completed = collect('completed')
    const running = lineNode('line').port
    feed(1)
    await expect.poll(() => completed.length).toBe(1)
    const line = running.runningLine
    expect(line?.store.readJournal('bench', 0, 100).events.some((event) => event.kind === 'value')).toBe(true)
  })

  it.each([
    ['no payload', { channel: 'pot.level' }, 'line-telemetry.error.no-payload'],
    ['neither channel nor topic', { payload: 1 }, 'line-telemetry.error.no-channel'],
  ])('hands a message with %s to Catch', async (_what, message, expected) => {
    await load([benchLine(), telemetry(all), ...sinks, { id: 'catch', type: 'catch', scope: ['telemetry'], wires: [['caught']] }, helperNode('caught')])
    const caught = collect('caught')
    node('telemetry').receive(message as never)
    await expect.poll(() => caught.length).toBe(1)
    expect((caught[0]?.['error'] as { message: string }).message).toContain(expected)
  })

  it('says so when its line is missing, and still ends every message', async () => {
    await load([{ ...telemetry(all), line: 'gone' }, ...sinks, { id: 'catch', type: 'catch', scope: ['telemetry'], wires: [['caught']] }, helperNode('caught')])
    const caught = collect('caught')
    feed(1)
    await expect.poll(() => caught.length).toBe(1)
  })

  it('shows state and time of the data on its badge', async () => {
    await load([benchLine(), telemetry([[], [], [], []])])
    const shown = badges('telemetry')
    feed(20)
    await expect.poll(() => shown.at(-1)?.text).toBe('line-telemetry.status.running')
  })

  it('lets go of its line when it is unloaded', async () => {
    await load([benchLine(), telemetry(all), ...sinks])
    const readings = collect('readings')
    const { port } = lineNode('line')
    feed(10)
    await expect.poll(() => readings.length).toBeGreaterThan(1)
    await unload()
    expect(port.runningLine).toBeUndefined()
    expect(errors()).toEqual([])
  })
})
