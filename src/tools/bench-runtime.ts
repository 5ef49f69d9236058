// Prints what durability costs: the same events through a runtime on a SQLite file and on the memory store, one line
// and many, and what a message over a broker costs with its acknowledgement held until the commit. Ratios of one run
// count, not the figures.
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { connectAsync } from 'mqtt'
import { openMemoryLineStore } from '../adapters/memory/memory-line-store.js'
import { MqttConnection } from '../adapters/mqtt/mqtt-connection.js'
import { openSqliteLineStore } from '../adapters/sqlite/sqlite-line-store.js'
import { lineDefinitionSchema } from '../line/line-definition.js'
import type { LineMonitor } from '../monitor/line-output.js'
import type { LineStore } from '../ports/line-store.js'
import { LineRuntime } from '../runtime/line-runtime.js'

const EVENT_COUNT = 20_000
const MESSAGE_COUNT = 20_000

/** Does next to nothing: what remains is the runtime's and the store's own cost. */
function createIdleMonitor(): LineMonitor {
  return {
    step: (event, emit) => emit({ kind: 'reading', body: { channel: 'pot.level', timeMs: event.receivedMs, value: event.seq } }),
    snapshot: () => ({}),
  }
}

function openLine(store: LineStore, line: string): LineRuntime {
  return LineRuntime.open({ line, definition: lineDefinitionSchema.parse({ line }), store, clock: { nowMs: () => Date.now() }, createMonitor: createIdleMonitor })
}

async function withFolder<T>(work: (store: LineStore) => Promise<T>): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'bench-runtime-'))
  const store = openSqliteLineStore({ folder })
  try {
    return await work(store)
  } finally {
    store.close()
    rmSync(folder, { recursive: true, force: true })
  }
}

/** Events per second through `lineCount` lines, each with a window of unacknowledged events as a broker would keep. */
async function runLines(store: LineStore, lineCount: number): Promise<number> {
  const lines = Array.from({ length: lineCount }, (_, index) => openLine(store, `line-${index}`))
  const perLine = Math.floor(EVENT_COUNT / lineCount)
  const window = Math.max(10, Math.floor(1_000 / lineCount))
  const startMs = performance.now()
  await Promise.all(
    lines.map(async (line) => {
      for (let sent = 0; sent < perLine; sent += window) {
        await Promise.all(Array.from({ length: Math.min(window, perLine - sent) }, (_, index) => line.submit({ kind: 'message', topic: 'wave-solder/line-a/telemetry/pot.level', payload: `{"t":${sent + index},"v":1.25}` })))
      }
      await line.close()
    }),
  )
  return (perLine * lineCount * 1_000) / (performance.now() - startMs)
}

/** Messages per second from a broker until `take` has settled for the last of them. */
async function runBroker(url: string, clientId: string, take: (topic: string, payload: string) => Promise<unknown>): Promise<number> {
  const connection = new MqttConnection({ url, clientId })
  let left = MESSAGE_COUNT
  let finish: () => void = () => undefined
  const finished = new Promise<void>((resolve) => (finish = resolve))
  const user = {
    filters: [`bench/${clientId}`],
    publishRoot: 'bench',
    take: async ({ topic, payload }: { readonly topic: string; readonly payload: string }) => {
      await take(topic, payload)
      left -= 1
      if (left === 0) finish()
    },
  }
  connection.register(user)
  await new Promise<void>((resolve) => connection.onStatus((status) => status.subscriptions === 1 && resolve()))
  const publisher = await connectAsync(url)
  const startMs = performance.now()
  for (let sent = 0; sent < MESSAGE_COUNT; sent += 500) {
    await Promise.all(Array.from({ length: 500 }, (_, index) => publisher.publishAsync(`bench/${clientId}`, `{"t":${sent + index},"v":1.25}`, { qos: 1 })))
  }
  await finished
  const rate = (MESSAGE_COUNT * 1_000) / (performance.now() - startMs)
  await publisher.endAsync()
  await connection.deregister(user, { unsubscribe: true })
  return rate
}

function print(name: string, rate: number, base: number): void {
  console.log(`${name.padEnd(46)} ${Math.round(rate).toString().padStart(8)} /s   ${(rate / base).toFixed(2)}`)
}

for (let round = 1; round <= 2; round += 1) {
  const base = await runLines(openMemoryLineStore(), 1)
  print('memory store, 1 line', base, base)
  print('SQLite, 1 line', await withFolder((store) => runLines(store, 1)), base)
  print('SQLite, 20 lines', await withFolder((store) => runLines(store, 20)), base)
  print('SQLite, 100 lines', await withFolder((store) => runLines(store, 100)), base)
}
const [url] = process.argv.slice(2)
if (url !== undefined) {
  for (let round = 1; round <= 2; round += 1) {
    const bare = await runBroker(url, `bare-${round}`, () => Promise.resolve())
    print('broker, acknowledged at once', bare, bare)
    const held = await withFolder(async (store) => {
      const line = openLine(store, 'line-a')
      const rate = await runBroker(url, `held-${round}`, (topic, payload) => line.submit({ kind: 'message', topic, payload }))
      await line.close()
      return rate
    })
    print('broker, acknowledged after the commit', held, bare)
  }
}
