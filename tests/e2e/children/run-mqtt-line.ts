// Runs a line on a SQLite store with a broker, and kills itself right after a commit: before the acknowledgements of
// that commit can leave.
import { MqttConnection } from '../../../src/adapters/mqtt/mqtt-connection.js'
import { openSqliteLineStore } from '../../../src/adapters/sqlite/sqlite-line-store.js'
import { lineDefinitionSchema } from '../../../src/line/line-definition.js'
import type { LineMonitor } from '../../../src/monitor/line-output.js'
import type { LineCommit, LineStore } from '../../../src/ports/line-store.js'
import { LineRuntime } from '../../../src/runtime/line-runtime.js'

const [folder, url, killAfter] = process.argv.slice(2)
let inputsLeft = Number(killAfter)

const inner = openSqliteLineStore({ folder: folder as string })
const store: LineStore = new Proxy(inner, {
  get(target, key) {
    if (key === 'commitAll') {
      return (commits: readonly LineCommit[]) => {
        const answer = target.commitAll(commits)
        inputsLeft -= commits.flatMap((commit) => commit.inputs).filter(({ input }) => input.kind === 'message').length
        if (inputsLeft <= 0) process.kill(process.pid, 'SIGKILL')
        return answer
      }
    }
    const member: unknown = Reflect.get(target, key)
    return typeof member === 'function' ? (member.bind(target) as unknown) : member
  },
})

/** Takes numbered messages; one that it has had before is a duplicate. */
function createNumberMonitor(_definition: unknown, snapshot?: unknown): LineMonitor {
  const state = snapshot === undefined ? { last: 0 } : { ...(snapshot as { last: number }) }
  return {
    step: (event, emit) => {
      if (event.kind !== 'message') return
      const number = Number(event.payload)
      const key = number <= state.last ? 'note.duplicate' : 'note.new'
      state.last = Math.max(state.last, number)
      emit({ kind: 'note', body: { timeMs: event.receivedMs, key, values: { number } } })
    },
    snapshot: () => state,
  }
}

const runtime = LineRuntime.open({
  line: 'line-a',
  definition: lineDefinitionSchema.parse({ line: 'line-a' }),
  store,
  clock: { nowMs: () => Date.now() },
  batchEvents: 50,
  batchMs: 5,
  createMonitor: createNumberMonitor,
})
runtime.onOutput(({ output }) => {
  if (output.kind === 'note') process.send?.({ number: output.body.values['number'] })
})
const connection = new MqttConnection({ url: url as string, clientId: 'e2e-line-a' })
const user = {
  filters: ['wave-solder/line-a/telemetry/#'],
  publishRoot: 'wave-solder/line-a',
  take: ({ topic, payload }: { readonly topic: string; readonly payload: string }) => runtime.submit({ kind: 'message', topic, payload }),
}
connection.register(user)
connection.onStatus((status) => process.send?.({ subscriptions: status.subscriptions }))

process.on('message', () => {
  void (async () => {
    await connection.deregister(user, { unsubscribe: false })
    await runtime.close()
    inner.close()
    process.exit(0)
  })()
})
