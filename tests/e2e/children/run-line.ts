// Runs a line on a SQLite store, feeds it numbered inputs as a broker with unacknowledged messages would, and kills
// itself at the place it is told to.
import { openSqliteLineStore } from '../../../src/adapters/sqlite/sqlite-line-store.js'
import { lineDefinitionSchema } from '../../../src/line/line-definition.js'
import type { LineCommit, LineSnapshot, LineStore } from '../../../src/ports/line-store.js'
import { LineRuntime } from '../../../src/runtime/line-runtime.js'
import { createChainMonitor, inputOf } from '../chain-monitor.js'

type KillPlace = 'nowhere' | 'before-commit' | 'after-commit' | 'in-step' | 'after-snapshot'

const [folder, firstText, lastText, place, countText] = process.argv.slice(2)
let left = Number(countText)

function killAt(here: KillPlace): void {
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
  line: 'line-a',
  definition: lineDefinitionSchema.parse({ line: 'line-a' }),
  store,
  // A clock that runs with the inputs, so that a snapshot falls due every few batches.
  clock: { nowMs: () => (nowMs += 1) },
  snapshotEveryMs: 200,
  batchEvents: 25,
  batchMs: 2,
  createMonitor: (definition, snapshot) => {
    const monitor = createChainMonitor(definition, snapshot)
    return {
      step: (event, emit) => {
        monitor.step(event, emit)
        killAt('in-step')
      },
      snapshot: () => monitor.snapshot(),
    }
  },
})
runtime.onOutput((output) => process.send?.({ kind: 'output', seq: output.seq, ordinal: output.ordinal }))

let next = Number(firstText)
const last = Number(lastText)
let inFlight = 0

function feed(): void {
  while (inFlight < 60 && next <= last) {
    const number = next
    next += 1
    inFlight += 1
    void runtime.submit(inputOf(number), number).then(() => {
      inFlight -= 1
      process.send?.({ kind: 'acknowledged', number })
      if (number === last) void runtime.close().then(() => { inner.close(); process.disconnect() })
      else feed()
    })
  }
}
feed()
