// Runs a whole line on a SQLite store, feeds it numbered messages as a broker with unacknowledged ones would, and kills
// itself at the place it is told to.
import { readFileSync } from 'node:fs'
import { openSqliteLineStore } from '../../../src/adapters/sqlite/sqlite-line-store.js'
import type { LineDefinition } from '../../../src/line/line-definition.js'
import { createLineMonitor } from '../../../src/monitor/line-monitor.js'
import type { LineCommit, LineSnapshot, LineStore } from '../../../src/ports/line-store.js'
import { LineRuntime } from '../../../src/runtime/line-runtime.js'

const [folder, traceFile, firstText, place, countText] = process.argv.slice(2)
const { definition, topic, messages } = JSON.parse(readFileSync(traceFile as string, 'utf8')) as { definition: LineDefinition; topic: string; messages: string[] }
let left = Number(countText)

function killAt(here: string): void {
  if (place !== here) return
  left -= 1
  if (left === 0) process.kill(process.pid, 'SIGKILL')
}

const inner = openSqliteLineStore({ folder: folder as string })
const store: LineStore = new Proxy(inner, {
  get(target, key) {
    if (key === 'commitAll') {
      return (commits: readonly LineCommit[]) => {
        killAt('before-commit')
        const answer = target.commitAll(commits)
        // Nothing of this commit has been acknowledged yet.
        killAt('after-commit')
        return answer
      }
    }
    if (key === 'saveSnapshot') {
      return (snapshot: LineSnapshot) => {
        target.saveSnapshot(snapshot)
        killAt('after-snapshot')
      }
    }
    const member: unknown = Reflect.get(target, key)
    return typeof member === 'function' ? (member.bind(target) as unknown) : member
  },
})

let nowMs = 0
const runtime = LineRuntime.open({
  line: definition.line,
  definition,
  store,
  // A clock that runs with the inputs, so that a snapshot falls due every few commits.
  clock: { nowMs: () => (nowMs += 1) },
  snapshotEveryMs: 60,
  batchEvents: 5,
  batchMs: 1,
  createMonitor: (own, snapshot) => {
    const monitor = createLineMonitor(own, snapshot)
    return {
      step: (event, emit) => {
        monitor.step(event, emit)
        killAt('in-step')
      },
      snapshot: () => monitor.snapshot(),
    }
  },
})

let next = Number(firstText)
let inFlight = 0

function feed(): void {
  while (inFlight < 12 && next < messages.length) {
    const number = next
    next += 1
    inFlight += 1
    void runtime.submit({ kind: 'message', topic, payload: messages[number] as string }).then(() => {
      inFlight -= 1
      process.send?.(number)
      feed()
    })
  }
  if (next === messages.length && inFlight === 0) void end()
}

async function end(): Promise<void> {
  next += 1
  await runtime.submit({ kind: 'end-of-data' })
  await runtime.close()
  inner.close()
  process.disconnect()
}
feed()
