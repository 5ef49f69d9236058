import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { connectAsync, type MqttClient } from 'mqtt'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { openSqliteLineStore } from '../../src/adapters/sqlite/sqlite-line-store.js'
import { startAedes, startMosquitto, type TestBroker } from '../brokers.js'
import { bundleChildScript, endOf, type ChildScript } from '../child-script.js'

const MESSAGE_COUNT = 400
const TOPIC = 'wave-solder/line-a/telemetry/pot.level'
let script: ChildScript

beforeAll(async () => {
  script = await bundleChildScript(fileURLToPath(new URL('children/run-mqtt-line.ts', import.meta.url)))
})

afterAll(() => script.remove())

describe('a line killed between commit and acknowledgement', () => {
  it.each([
    ['mosquitto', () => startMosquitto(['max_queued_messages 0'])],
    ['aedes', () => startAedes()],
  ])('gets the messages again from %s, loses none and takes none twice', async (_name, start: () => Promise<TestBroker>) => {
    const broker = await start()
    const folder = mkdtempSync(join(tmpdir(), 'mqtt-redelivery-'))
    const publisher = await connectAsync(broker.url)
    let published = 0
    for (const killAfter of [1, 60, 7, 110]) {
      const child = script.start([folder, broker.url, String(killAfter)])
      const end = endOf(child)
      // Before it subscribes for the first time nothing would be kept for it; later on the session is there.
      if (published === 0) await new Promise<void>((resolve) => child.on('message', (message: { subscriptions?: number }) => message.subscriptions === 1 && resolve()))
      published = await publish(publisher, published, published + MESSAGE_COUNT / 5)
      expect((await end).signal).toBe('SIGKILL')
    }
    await publish(publisher, published, MESSAGE_COUNT)
    const last = script.start([folder, broker.url, '1000000'])
    const end = endOf(last)
    await new Promise<void>((resolve) => last.on('message', (message: { number?: number }) => message.number === MESSAGE_COUNT && resolve()))
    last.send('close')
    expect(await end).toMatchObject({ code: 0, stderr: '' })
    await publisher.endAsync()
    await broker.stop()

    const store = openSqliteLineStore({ folder })
    const notes = store.outputs({ line: 'line-a', kinds: ['note'] }).toSorted((a, b) => a.seq - b.seq)
    store.close()
    rmSync(folder, { recursive: true, force: true })
    const numbersOf = (key: string): unknown[] => notes.flatMap(({ output }) => (output.kind === 'note' && output.body.key === key ? [output.body.values['number']] : []))
    expect(numbersOf('note.new')).toEqual(Array.from({ length: MESSAGE_COUNT }, (_, index) => index + 1))
    // What was committed and not acknowledged has come again each time.
    expect(numbersOf('note.duplicate').length).toBeGreaterThan(3)
  }, 60_000)
})

/** Publishes the numbers after `from` up to `to`. */
async function publish(publisher: MqttClient, from: number, to: number): Promise<number> {
  await Promise.all(Array.from({ length: to - from }, (_, index) => publisher.publishAsync(TOPIC, String(from + index + 1), { qos: 1 })))
  return to
}
