// Opens the store of a folder, commits each further argument as a message, and keeps the store until it is killed.
import { openSqliteLineStore } from '../../../src/adapters/sqlite/sqlite-line-store.js'

const [folder, ...texts] = process.argv.slice(2)
const store = openSqliteLineStore({ folder: folder as string })
for (const payload of texts) {
  store.commit({ line: 'line-a', inputs: [{ input: { kind: 'message', topic: 't', payload }, receivedMs: 1 }], outputs: [], processedSeq: 0, outbox: [] })
}
process.send?.('open')
setInterval(() => undefined, 1_000)
