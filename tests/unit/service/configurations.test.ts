import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { parseSolderLineConfig } from '../../../src/service/node-red/solder-line-config.js'
import { parseSimulatorConfig } from '../../../src/service/node-red/line-simulator-config.js'
import { foundText, numberOf, telemetryInput } from '../../../src/service/node-red/message-input.js'
import { runCheck } from '../../../src/service/check-command.js'
import { parseStartOptions } from '../../../src/service/start-command.js'
import { demoConfig } from '../../../src/simulator/demo-line.js'
import { describeLine } from '../../../src/simulator/line-description.js'

interface FlowNode {
  readonly type: string
  readonly definition?: string
  readonly plant?: string
  readonly wires?: readonly (readonly string[])[]
  readonly id: string
}

function flow(name: string): FlowNode[] {
  return JSON.parse(readFileSync(`flows/${name}`, 'utf8')) as FlowNode[]
}

describe('example flows', () => {
  it('describe the demonstration as its simulator would', () => {
    const lines = flow('demo.json').filter(({ type }) => type === 'solder-line').map(({ definition }) => JSON.parse(definition ?? '') as { line: string; title: string })
    expect(lines.map(({ line }) => line)).toEqual(['north-1', 'north-2'])
    for (const seed of [1, 7, 99]) {
      for (const { line, title, ...rest } of lines) {
        const { line: _line, title: _title, ...expected } = describeLine(demoConfig({ seed, line: line === 'north-1' ? 'faulty' : 'healthy', startMs: Date.UTC(2026, 0, 5) }), { line, title })
        // What the simulator cannot know: figures of the site and how many people work.
        const { costs, planning, shifts, ...machine } = rest as typeof rest & { costs: unknown; planning: unknown; shifts: { people: number }[] }
        expect(machine).toEqual({ ...expected, shifts: undefined })
        expect(shifts.map(({ people, ...shift }) => [people, shift])).toEqual(expected.shifts.map((shift) => [2, shift]))
        expect([costs, planning]).not.toContain(undefined)
      }
    }
  })

  it.each(['demo.json', 'single-chart.json', 'your-line.json'])('%s has definitions without fault and wires that lead somewhere', (name) => {
    const nodes = flow(name)
    const ids = new Set(nodes.map(({ id }) => id))
    expect(ids.size).toBe(nodes.length)
    for (const node of nodes.filter(({ type }) => type === 'solder-line')) expect(parseSolderLineConfig(node, {}).definition).toMatchObject({ kind: 'definition' })
    for (const target of nodes.flatMap(({ wires }) => (wires ?? []).flat())) expect(ids).toContain(target)
  })
})

describe('what the editor saves', () => {
  it('leaves an environment variable that is not set as not given', () => {
    expect(parseSolderLineConfig({ source: 'json', definition: '{"line":"a"}', broker: '${WAVE_SPC_BROKER}' }, {}).broker).toBeUndefined()
    expect(parseSimulatorConfig({ plant: 'faulty', seed: '${WAVE_SPC_SEED}', speed: 100, autostart: true })).toEqual({ plant: 'faulty', seed: undefined, speed: 100, autostart: true })
  })

  it('takes user and password from the credentials only', () => {
    expect(parseSolderLineConfig({ definition: '{"line":"a"}', broker: 'mqtt://h' }, { user: 'u', password: 'p' }).broker).toEqual({ url: 'mqtt://h', user: 'u', password: 'p' })
  })

  it.each([{ speed: '' }, { speed: '0' }, { speed: 10, seed: '1.5' }, { speed: 10, seed: 'x' }])('refuses a simulator of %j', (def) => {
    expect(parseSimulatorConfig(def)).toBeUndefined()
  })
})

describe('what a msg holds', () => {
  it('is a value of a channel, of the node or of the msg, or a message on a topic', () => {
    expect(telemetryInput({ payload: 1, channel: 'pot.level', time: 5, unit: 'cm' }, '')).toEqual({ kind: 'input', input: { kind: 'value', channel: 'pot.level', value: 1, time: 5, unit: 'cm' } })
    expect(telemetryInput({ payload: 1 }, 'pot.level')).toMatchObject({ input: { kind: 'value', channel: 'pot.level' } })
    expect(telemetryInput({ payload: { v: 1 }, topic: 'a/b' }, '')).toEqual({ kind: 'input', input: { kind: 'message', topic: 'a/b', payload: '{"v":1}' } })
    expect(telemetryInput({ payload: Buffer.from('1.5'), topic: 'a/b' }, '')).toMatchObject({ input: { payload: '1.5' } })
    expect(telemetryInput({ topic: 'a/b' }, '')).toMatchObject({ kind: 'fault' })
  })

  it('is a number or nothing', () => {
    expect(numberOf('1.5', undefined, 7)).toEqual({ value: 1.5, timeMs: 7 })
    expect(numberOf(2, '2026-03-02T00:00:00Z', 7)).toEqual({ value: 2, timeMs: Date.UTC(2026, 2, 2) })
    for (const value of ['', ' ', 'x', true, null, undefined, {}, [1], NaN, Infinity]) expect(numberOf(value, undefined, 7)).toBeUndefined()
    expect(numberOf(2, 'yesterday', 7)).toBeUndefined()
    expect(foundText([1])).toBe('an array')
  })
})

describe('start options', () => {
  it('come from the command line, then from the environment, then from the defaults', () => {
    expect(parseStartOptions([], {})).toMatchObject({ host: '127.0.0.1', port: 1880, mqttPort: 1884, seed: undefined, own: undefined })
    expect(parseStartOptions(['--port', '8080'], { WAVE_SPC_PORT: '9090', WAVE_SPC_MQTT_PORT: '1999' })).toMatchObject({ port: 8080, mqttPort: 1999 })
    expect(parseStartOptions(['--help'], {})).toBeUndefined()
  })

  it('let nobody in from outside without a user', () => {
    expect(() => parseStartOptions(['--host', '0.0.0.0'], {})).toThrow(/WAVE_SPC_USER/)
    expect(() => parseStartOptions(['--host', '0.0.0.0'], { WAVE_SPC_USER: 'u' })).toThrow(/WAVE_SPC_PASSWORD_HASH/)
    expect(parseStartOptions(['--host', '0.0.0.0'], { WAVE_SPC_USER: 'u', WAVE_SPC_PASSWORD_HASH: 'h' })).toMatchObject({ credentials: { user: 'u', passwordHash: 'h' } })
  })
})

describe('check', () => {
  it('prints the JSON Schema', async () => {
    let text = ''
    expect(await runCheck(['--schema'], (part) => (text += part))).toBe(0)
    expect(JSON.parse(text)).toMatchObject({ type: 'object', properties: { line: expect.any(Object), channels: expect.any(Object) } })
  })
})
