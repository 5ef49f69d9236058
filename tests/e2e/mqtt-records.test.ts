import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { connectAsync, type MqttClient } from 'mqtt'
import { describe, expect, it } from 'vitest'
import { parseLineDefinition } from '../../src/line/line-definition.js'
import type { RunningLine } from '../../src/service/running-line.js'
import { acquireSite, releaseSite, type Site } from '../../src/service/site.js'
import { startAedes, startMosquitto, type TestBroker } from '../brokers.js'

const HOUR_MS = 3_600_000
const RECORD = JSON.stringify({ section: 'pot', work: 'skim-dross', finding: 2, minutes: 10 })

interface Plant {
  readonly sender: MqttClient
  readonly told: Record<string, unknown>[]
  readonly open: () => Promise<{ site: Site; line: RunningLine }>
  readonly clock: { nowMs: number }
}

/** A broker, somebody at the plant who sends and listens, and a site that can be opened again. */
async function withPlant(start: () => Promise<TestBroker>, work: (plant: Plant) => Promise<void>): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'mqtt-records-'))
  const broker = await start()
  const sender = await connectAsync(broker.url)
  const told: Record<string, unknown>[] = []
  await sender.subscribeAsync('wave-solder/line-a/rejected', { qos: 1 })
  sender.on('message', (_topic, payload) => {
    const rejection = JSON.parse(payload.toString()) as Record<string, unknown>
    if (!String(rejection['where']).includes('level')) told.push(rejection)
  })
  const clock = { nowMs: Date.UTC(2026, 0, 5, 8) }
  const parsed = parseLineDefinition({ line: 'line-a' })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  let opened: Site | undefined
  const open = async (): Promise<{ site: Site; line: RunningLine }> => {
    const site = await acquireSite({ dataFolder: folder, log: () => undefined, clock: { nowMs: () => clock.nowMs } })
    opened = site
    const line = site.openLine({ definition: parsed.definition, stages: undefined, mqtt: true })
    const connection = site.connectLine('line-a', { url: broker.url })
    await expect.poll(() => connection.connected).toBe(true)
    // Granted subscriptions are seen in what comes through them.
    const seq = line.status().processedSeq
    await expect.poll(async () => {
      await sender.publishAsync('wave-solder/line-a/telemetry/pot.level', '1', { qos: 1 })
      return line.status().processedSeq > seq
    }, { timeout: 10_000 }).toBe(true)
    return { site, line }
  }
  try {
    await work({ sender, told, open, clock })
  } finally {
    if (opened !== undefined) await releaseSite(opened).catch(() => undefined)
    await sender.endAsync()
    await broker.stop()
    rmSync(folder, { recursive: true, force: true })
  }
}

const count = (line: RunningLine): number => line.projection.factsOf('record').length

describe.each([
  ['mosquitto', () => startMosquitto()],
  ['aedes', () => startAedes()],
])('records over %s without an id or a time', { timeout: 60_000 }, (_name, start: () => Promise<TestBroker>) => {
  it('count once when the sender or the broker sends them again, and twice when the work was done twice', async () => {
    await withPlant(start, async ({ sender, open, clock }) => {
      const { line } = await open()
      const topic = 'wave-solder/line-a/records'
      const settled = async (): Promise<void> => {
        // A record of another kind comes through behind it.
        const before = count(line)
        await sender.publishAsync(topic, JSON.stringify({ section: 'fluxer', work: 'clean-nozzle', remark: String(before + Math.random()) }), { qos: 1 })
        await expect.poll(() => line.projection.factsOf('record').filter(({ record }) => record.work === 'clean-nozzle').length, { timeout: 10_000 }).toBe((nozzles += 1))
      }
      let nozzles = 0
      const dross = (): number => line.projection.factsOf('record').filter(({ record }) => record.work === 'skim-dross').length
      // The sender loses its connection and sends again.
      for (let times = 0; times < 3; times += 1) await sender.publishAsync(topic, RECORD, { qos: 1 })
      await settled()
      expect(dross()).toBe(1)
      clock.nowMs += 4 * HOUR_MS
      await sender.publishAsync(topic, RECORD, { qos: 1 })
      await settled()
      expect(dross()).toBe(2)
      // The record is committed, and the acknowledgement never leaves: the broker delivers it again.
      clock.nowMs += 4 * HOUR_MS
      const taken = line.record.bind(line)
      let cuts = 0
      line.record = async (record) => {
        const outcome = await taken(record)
        if (cuts > 0) return outcome
        cuts += 1
        clock.nowMs += HOUR_MS
        throw new Error('cut off between commit and acknowledgement')
      }
      let deliveries = 0
      const counted = line.record
      line.record = (record) => {
        deliveries += 1
        return counted(record)
      }
      await sender.publishAsync(topic, RECORD, { qos: 1 })
      await expect.poll(() => deliveries, { timeout: 15_000 }).toBe(2)
      await settled()
      expect(cuts).toBe(1)
      expect(dross()).toBe(3)
    })
  })

  it('that are refused tell why, on the line’s own topic and as a fact', async () => {
    await withPlant(start, async ({ sender, told, open }) => {
      const { line } = await open()
      const send = (topic: string, body: unknown): Promise<unknown> => sender.publishAsync(`wave-solder/line-a/${topic}`, typeof body === 'string' ? body : JSON.stringify(body), { qos: 1 })
      await send('records', { id: 'mine-1', section: 'transport', work: 'lubricate-chain', product: 'silicone-lubricant' })
      await send('records', { section: 'pot' })
      await send('records', { section: 'pot', work: 'skim-dross', finding: 9 })
      await send('records', 'no JSON at all')
      await send('entries', { type: 'job', action: 'take', job: 'j-unknown' })
      await send('replies', { suggestion: 's-unknown', action: 'take' })
      await expect.poll(() => told.length, { timeout: 10_000 }).toBe(6)
      const of = (text: string): Record<string, unknown> | undefined => told.find(({ found }) => String(found).includes(text))
      expect(of('lubricate-chain')).toMatchObject({ reason: 'record.product-silicone', id: 'mine-1', where: 'wave-solder/line-a/records' })
      expect(String(of('lubricate-chain')?.['expected'])).toContain('silicone')
      expect(of('"finding":9')).toMatchObject({ reason: 'not-as-expected' })
      expect(String(of('"finding":9')?.['expected'])).toContain('finding')
      expect(of('no JSON')).toMatchObject({ reason: 'unreadable-payload' })
      expect(of('j-unknown')).toMatchObject({ reason: 'job.unknown' })
      expect(of('s-unknown')?.['reason']).toMatch(/^reply\./)
      expect(line.projection.factsOf('refused').map(({ reason }) => reason).sort()).toEqual(['job.unknown', 'record.product-silicone'])
      expect(count(line)).toBe(0)
    })
  })
})
