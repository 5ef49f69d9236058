// Binds what the driver cannot take, in a process of its own: without the check some of these end the process.
import { CheckedDatabase, type BoundValue } from '../../../src/adapters/sqlite/checked-database.js'

const database = new CheckedDatabase(process.argv[2] as string)
database.execute('CREATE TABLE t (a, b)')
const insert = database.statement('INSERT INTO t (a, b) VALUES (?, ?)')
const select = database.statement('SELECT a, b FROM t WHERE a = ?')

const wrong: readonly (readonly [string, unknown])[] = [
  ['a boolean', [true, 1]],
  ['NaN', [1, Number.NaN]],
  ['Infinity', [1, Number.POSITIVE_INFINITY]],
  ['undefined', [1, undefined]],
  ['an object', [1, {}]],
  ['a nested list', [1, [2]]],
  ['a date', [1, new Date(0)]],
  ['bytes that are no Buffer', [1, new Uint8Array([1])]],
  ['a function', [1, () => 1]],
  ['a symbol', [1, Symbol('s')]],
  ['too few values', [1]],
  ['too many values', [1, 2, 3]],
  ['no list', 1],
  ['a lone Buffer', Buffer.from('ab')],
  ['a text with a zero character', [1, 'a\u0000b']],
  ['a named value', { a: 1, b: 2 }],
]
const refused: Record<string, string> = {}
for (const [name, values] of wrong) {
  try {
    insert.run(values as BoundValue[])
    refused[name] = 'TAKEN'
  } catch (error) {
    refused[name] = (error as Error).message
  }
}
try {
  select.get([true as unknown as BoundValue])
  refused['a boolean in a query'] = 'TAKEN'
} catch (error) {
  refused['a boolean in a query'] = (error as Error).message
}
const right: BoundValue[][] = [
  [1, null],
  [2, 1.5],
  [3, 2n ** 40n],
  [4, 'text \t é 😀'],
  [5, Buffer.from([0, 255])],
  [6, -0.1],
]
for (const values of right) insert.run(values)
const stored = database.statement('SELECT a, b, typeof(b) FROM t ORDER BY a').all([]).map((row) => row.map((value) => (Buffer.isBuffer(value) ? [...value] : value)))
process.send?.({ refused, stored })
database.close()
process.disconnect?.()
