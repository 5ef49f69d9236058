import { mkdtempSync, rmSync } from 'node:fs'
import { createServer, type AddressInfo, type Server } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { Aedes, type AedesPublishPacket } from 'aedes'
import { connectAsync, type MqttClient } from 'mqtt'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { parseLineDefinition, type LineDefinition } from '../../src/line/line-definition.js'
import type { LineConnection } from '../../src/service/broker-hub.js'
import { acquireSite, releaseSite, type Site } from '../../src/service/site.js'
import { demoConfig, samplesAsMessage } from '../../src/simulator/demo-line.js'
import { describeLine } from '../../src/simulator/line-description.js'
import { createSimulation, type Simulation } from '../../src/simulator/simulation.js'

interface Published {
  readonly topic: string
  readonly payload: string
  readonly retain: boolean
  readonly by: string
}

let folder = ''
let broker: Aedes
let server: Server
let url = ''
let site: Site
let sender: MqttClient
let published: Published[]

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'broker-'))
  published = []
  broker = await Aedes.createBroker()
  broker.on('publish', (packet: AedesPublishPacket, client) => {
    if (client !== null) published.push({ topic: packet.topic, payload: packet.payload.toString(), retain: packet.retain, by: client.id })
  })
  server = createServer(broker.handle)
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  url = `mqtt://127.0.0.1:${(server.address() as AddressInfo).port}`
  site = await acquireSite({ dataFolder: folder, log: () => undefined })
  sender = await connectAsync(url, { clientId: 'plant' })
})

afterEach(async () => {
  await sender.endAsync()
  await releaseSite(site)
  await new Promise<void>((resolve) => broker.close(() => resolve()))
  server.close()
  rmSync(folder, { recursive: true, force: true })
})

const config = demoConfig({ seed: 7, line: 'faulty', startMs: Date.UTC(2026, 0, 5) })

function definitionOf(line: string): LineDefinition {
  const parsed = parseLineDefinition(describeLine(config, { line }))
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  return parsed.definition
}

function open(line: string): LineConnection {
  site.openLine({ definition: definitionOf(line), stages: undefined, mqtt: true })
  return site.connectLine(line, { url })
}

const bySite = (topic: string): Published[] => published.filter((message) => message.by !== 'plant' && message.topic === topic)

async function sendTicks(simulation: Simulation, count: number): Promise<boolean> {
  const ticks: string[] = []
  while (ticks.length < count) {
    const sample = simulation.next()
    if (sample === undefined) return false
    ticks.push(samplesAsMessage(sample))
  }
  await sender.publishAsync('wave-solder/north-1/telemetry', `[${ticks.join(',')}]`, { qos: 1 })
  return true
}

describe('a line at its broker', () => {
  it('takes telemetry, publishes its suggestion once, takes the reply, and publishes nowhere but under its own topics', { timeout: 120_000 }, async () => {
    const connection = open('north-1')
    await expect.poll(() => connection.connected).toBe(true)
    const line = site.line('north-1')!
    const simulation = createSimulation(config)
    while (line.projection.allSuggestions().length === 0 && (await sendTicks(simulation, 500))) await expect.poll(() => line.status().queued, { interval: 5 }).toBeLessThan(20)
    await expect.poll(() => bySite('wave-solder/north-1/suggestions').length).toBeGreaterThan(0)
    const suggestion = JSON.parse(bySite('wave-solder/north-1/suggestions')[0]!.payload) as { id: string; schemaVersion: number; status: string; cautions: string[] }
    expect(suggestion).toMatchObject({ schemaVersion: 1, status: 'open', line: 'north-1' })
    expect(suggestion.cautions.length).toBeGreaterThan(0)

    await sender.publishAsync('wave-solder/north-1/replies', JSON.stringify({ suggestion: suggestion.id, action: 'take', by: 'Robin' }), { qos: 1 })
    await expect.poll(() => line.projection.suggestion(suggestion.id)?.status).toBe('taken')
    await expect.poll(() => bySite('wave-solder/north-1/suggestions').some(({ payload }) => payload.includes('"status":"taken"'))).toBe(true)
    await sender.publishAsync('wave-solder/north-1/replies', 'rubbish', { qos: 1 })
    await expect.poll(() => bySite('wave-solder/north-1/rejected').map(({ payload }) => JSON.parse(payload) as object)).toContainEqual(expect.objectContaining({ where: 'wave-solder/north-1/replies', found: 'rubbish' }))

    await expect.poll(() => bySite('wave-solder/north-1/state').at(-1)).toMatchObject({ retain: true })
    expect(JSON.parse(bySite('wave-solder/north-1/state').at(-1)!.payload)).toMatchObject({ schemaVersion: 1, line: 'north-1', state: expect.any(String), channels: { 'pot.level': expect.stringMatching(/Z$/) } })
    const own = /^wave-solder\/north-1\/(suggestions|state|rejected)$/
    expect([...new Set(published.filter(({ by }) => by !== 'plant').map(({ topic }) => topic))].filter((topic) => !own.test(topic))).toEqual([])
    await expect(connection.publish('plant/north-1/zone/1/setpoint', '250')).rejects.toThrow('own topics')
  })

  it('misses nothing that came while it was closed', async () => {
    open('north-1')
    await expect.poll(() => site.brokers[0]?.connected).toBe(true)
    const simulation = createSimulation(config)
    await sendTicks(simulation, 200)
    await expect.poll(() => site.line('north-1')?.projection.dataMs ?? 0).toBeGreaterThan(0)
    const seen = site.line('north-1')!.projection.dataMs!
    await site.closeLine('north-1', { archive: false })
    await sendTicks(simulation, 200)
    await sendTicks(simulation, 200)
    open('north-1')
    const line = site.line('north-1')!
    await expect.poll(() => Math.max(...line.channelTimes.values())).toBeGreaterThanOrEqual(seen + 380 * 2000)
    expect(line.projection.rejected().total).toBe(0)
  })

  it('keeps lines of one broker apart on one connection', async () => {
    open('north-1')
    open('north-2')
    expect(site.brokers).toEqual([{ broker: url, connected: expect.any(Boolean) }])
    await expect.poll(() => site.brokers[0]?.connected).toBe(true)
    await sendTicks(createSimulation(config), 400)
    await expect.poll(() => site.line('north-1')?.channelTimes.size ?? 0).toBeGreaterThan(3)
    expect(site.line('north-2')?.channelTimes.size).toBe(0)
    expect(broker.connectedClients).toBe(2)
  })

  it('counts what is wrong by reason and republishes it at a limited rate', async () => {
    open('north-1')
    await expect.poll(() => site.brokers[0]?.connected).toBe(true)
    for (let index = 0; index < 50; index += 1) await sender.publishAsync('wave-solder/north-1/telemetry/pot.level', `{"v":99999,"t":${Date.UTC(2026, 0, 5) + index * 1000}}`, { qos: 1 })
    await expect.poll(() => site.line('north-1')?.projection.rejected().byReason).toEqual({ 'impossible-value': 50 })
    await expect.poll(() => bySite('wave-solder/north-1/rejected').length).toBe(1)
    expect(JSON.parse(bySite('wave-solder/north-1/rejected')[0]!.payload)).toMatchObject({ reason: 'impossible-value', where: 'pot.level', found: expect.stringContaining('99999') })
  })
})
