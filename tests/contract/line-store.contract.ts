import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { LineInput } from '../../src/monitor/line-event.js'
import type { LineOutput } from '../../src/monitor/line-output.js'
import type { LineStore, OutboxItem, PointBody, StoredOutput } from '../../src/ports/line-store.js'

const LINE = 'line-a'

/** The contract every line store keeps; `create` gives a new empty store. */
export function describeLineStore(name: string, create: () => LineStore): void {
  describe(`${name} as a line store`, () => {
    let store: LineStore
    beforeEach(() => {
      store = create()
    })
    afterEach(() => store.close())

    describe('journal', () => {
      it('numbers events from 1 in order and gives them back with their receive time', () => {
        expect(append(store, [reading(1), reading(2)]).lastSeq).toBe(2)
        expect(append(store, [reading(3)]).lastSeq).toBe(3)
        const { events, damage } = store.readJournal(LINE, 0, 10)
        expect(damage).toBeUndefined()
        expect(events).toEqual([1, 2, 3].map((number) => ({ ...reading(number), seq: number, receivedMs: 1_000 + number })))
      })

      it('answers only what follows, at most the limit, also from within a batch', () => {
        append(store, [1, 2, 3, 4, 5].map(reading))
        append(store, [6, 7].map(reading))
        expect(store.readJournal(LINE, 3, 3).events.map((event) => event.seq)).toEqual([4, 5, 6])
        expect(store.readJournal(LINE, 7, 3).events).toEqual([])
      })

      it('knows nothing of a line it has not seen', () => {
        expect(store.readJournal('other', 0, 10)).toEqual({ events: [] })
        expect(store.processedSeq('other')).toBe(0)
        expect(store.lastSeq('other')).toBe(0)
        expect(store.lines()).toEqual([])
        expect(store.latestSnapshot('other')).toEqual({ damage: [] })
        expect(store.damage('other')).toEqual([])
      })

      it('keeps lines apart', () => {
        append(store, [reading(1)])
        expect(store.commit({ line: 'line-b', inputs: inputsOf([reading(9)]), outputs: [], processedSeq: 0, outbox: [] }).lastSeq).toBe(1)
        expect(store.lines()).toEqual(['line-a', 'line-b'])
        expect(store.readJournal('line-b', 0, 9).events).toHaveLength(1)
      })

      it('gives texts back exactly, unpaired surrogates, zero characters and all', () => {
        const payload = 'µ 漢字 😀 \ud800 \u0000 "\\'
        append(store, [{ kind: 'message', topic: 'a/ü', payload }])
        expect(store.readJournal(LINE, 0, 1).events[0]).toMatchObject({ topic: 'a/ü', payload })
      })

      it('remembers how far events were processed, and never goes back', () => {
        append(store, [1, 2, 3].map(reading))
        write(store, [], 2)
        expect(store.processedSeq(LINE)).toBe(2)
        write(store, [], 1)
        expect(store.processedSeq(LINE)).toBe(2)
      })

      it('refuses what cannot be: outputs of unknown events, processing beyond the end, a foreign output, a line twice', () => {
        append(store, [reading(1)])
        expect(() => write(store, [stored(5, 0, point(1))], 1)).toThrow('output of event 5')
        expect(() => write(store, [], 2)).toThrow('processedSeq 2 is beyond')
        expect(() => write(store, [{ ...stored(1, 0, point(1)), line: 'line-b' }], 1)).toThrow('output of line "line-b"')
        const commit = { line: LINE, inputs: [], outputs: [], processedSeq: 0, outbox: [] }
        expect(() => store.commitAll([commit, commit])).toThrow('twice')
        expect(() => store.commit({ ...commit, line: '' })).toThrow('needs an id')
        expect(store.processedSeq(LINE)).toBe(0)
      })

      it('writes several lines together or not at all', () => {
        const good = { line: LINE, inputs: inputsOf([reading(1)]), outputs: [], processedSeq: 0, outbox: [] }
        const bad = { line: 'line-b', inputs: [], outputs: [], processedSeq: 7, outbox: [] }
        expect(() => store.commitAll([good, bad])).toThrow('beyond')
        expect(store.lastSeq(LINE)).toBe(0)
        expect(store.lines()).toEqual([])
        expect(store.commitAll([good, { ...bad, processedSeq: 0, inputs: inputsOf([reading(1), reading(2)]) }])).toEqual([{ lastSeq: 1 }, { lastSeq: 2 }])
      })

      it('remembers events to be left out', () => {
        append(store, [1, 2].map(reading))
        store.commit({ line: LINE, inputs: [], outputs: [], processedSeq: 2, outbox: [], skipped: [{ seq: 2, message: 'threw' }] })
        store.commit({ line: LINE, inputs: [], outputs: [], processedSeq: 2, outbox: [], skipped: [{ seq: 2, message: 'again' }] })
        expect(store.skippedEvents(LINE)).toEqual([{ seq: 2, message: 'threw' }])
      })
    })

    describe('snapshots', () => {
      it('gives the newest back, unmoved by later changes of the object', () => {
        const body = { count: 1, list: [1, 2] }
        store.saveSnapshot({ line: LINE, seq: 0, body: { count: 0 } })
        store.saveSnapshot({ line: LINE, seq: 5, body })
        body.count = 99
        expect(store.latestSnapshot(LINE)).toEqual({ snapshot: { line: LINE, seq: 5, body: { count: 1, list: [1, 2] } }, damage: [] })
      })

      it('keeps the journal that the older of two generations needs', () => {
        for (let number = 1; number <= 10; number += 1) append(store, [reading(number)])
        store.saveSnapshot({ line: LINE, seq: 4, body: {} })
        store.pruneJournal(LINE)
        expect(store.readJournal(LINE, 0, 99).events).toHaveLength(10)
        store.saveSnapshot({ line: LINE, seq: 8, body: {} })
        store.pruneJournal(LINE)
        expect(store.readJournal(LINE, 0, 99).events.map((event) => event.seq)).toEqual([5, 6, 7, 8, 9, 10])
        store.saveSnapshot({ line: LINE, seq: 10, body: {} })
        store.pruneJournal(LINE)
        expect(store.readJournal(LINE, 8, 99).events.map((event) => event.seq)).toEqual([9, 10])
        expect(append(store, [reading(11)]).lastSeq).toBe(11)
        expect(store.readJournal(LINE, 10, 99).events.map((event) => event.seq)).toEqual([11])
      })
    })

    describe('history', () => {
      it('gives points back exactly, oldest first, with the newest kept by the limit', () => {
        const bodies = [3, 1, 2, 4].map((number) => point(number))
        append(store, [1, 2, 3, 4].map(reading))
        write(store, bodies.map((body, index) => stored(index + 1, 0, body)), 4)
        const sorted = [bodies[1], bodies[2], bodies[0], bodies[3]].map((output) => output?.body)
        expect(store.points({ line: LINE, feature: 'pot.level.mean' })).toEqual(sorted)
        expect(store.points({ line: LINE, feature: 'pot.level.mean', limit: 2 })).toEqual(sorted.slice(2))
        expect(store.points({ line: LINE, feature: 'pot.level.mean', fromMs: 2_000, toMs: 3_000 })).toEqual(sorted.slice(1, 3))
        expect(store.points({ line: LINE, feature: 'other' })).toEqual([])
        expect(store.points({ line: 'line-b', feature: 'pot.level.mean' })).toEqual([])
      })

      it('tells charts and their limits apart', () => {
        append(store, [reading(1)])
        const outputs = [point(1), point(1, { chart: 'ewma', statistic: 0.25, lower: -1.5 }), point(2, { chart: 'ewma', recipe: 'board-b', n: 40.5 })]
        write(store, outputs.map((output, ordinal) => stored(1, ordinal, output)), 1)
        expect(store.points({ line: LINE, feature: 'pot.level.mean', chart: 'ewma' })).toEqual([outputs[1]?.body, outputs[2]?.body])
        expect(store.points({ line: LINE, feature: 'pot.level.mean' })).toHaveLength(3)
        expect(store.series(LINE)).toEqual([{ feature: 'pot.level.mean', chart: 'individuals' }, { feature: 'pot.level.mean', chart: 'ewma' }])
      })

      it('ignores repeats: by key within a commit, and of processed events in a later one', () => {
        append(store, [1, 2].map(reading))
        write(store, [stored(1, 0, point(1)), stored(1, 0, point(1)), stored(1, 1, note(1)), stored(1, 2, rejected('late'))], 1)
        write(store, [stored(1, 0, point(1)), stored(1, 1, note(1)), stored(1, 2, rejected('late')), stored(2, 0, point(2))], 2)
        expect(store.points({ line: LINE, feature: 'pot.level.mean' })).toHaveLength(2)
        expect(store.outputs({ line: LINE, kinds: ['note'] })).toEqual([stored(1, 1, note(1))])
        expect(store.rejections(LINE)).toEqual([{ count: 1, last: rejected('late').body }])
      })

      it('answers other outputs by kind, feature and time, oldest first', () => {
        append(store, [1, 2, 3].map(reading))
        const all = [stored(1, 0, ruleHit(1, 'a')), stored(2, 0, note(2)), stored(2, 1, ruleHit(2, 'b')), stored(3, 0, ruleHit(3, 'a'))]
        write(store, all, 3)
        expect(store.outputs({ line: LINE, kinds: ['rule-hit', 'note'] })).toEqual(all)
        expect(store.outputs({ kinds: ['rule-hit'], feature: 'a' })).toEqual([all[0], all[3]])
        expect(store.outputs({ line: LINE, kinds: ['rule-hit'], fromMs: 2_000 })).toEqual([all[2], all[3]])
        expect(store.outputs({ line: LINE, kinds: ['rule-hit'], toMs: 2_000, limit: 1 })).toEqual([all[2]])
        expect(() => store.outputs({ line: LINE, kinds: ['point'] })).toThrow('points()')
      })

      it('answers of every fact the version written last, whatever time it is of, and facts of one type', () => {
        append(store, [1, 2, 3].map(reading))
        const all = [stored(1, 0, fact('record', 'a', 9)), stored(1, 1, fact('job', 'a', 8)), stored(2, 0, fact('record', 'b', 7)), stored(2, 1, note(3)), stored(3, 0, fact('record', 'a', 2))]
        write(store, all, 3)
        expect(store.currentFacts(LINE)).toEqual([all[1], all[2], all[4]])
        expect(store.currentFacts('unknown')).toEqual([])
        expect(store.outputs({ line: LINE, kinds: ['fact'], factType: 'record', limit: 2 })).toEqual([all[2], all[0]])
        expect(store.outputs({ line: LINE, kinds: ['fact', 'note'], factType: 'job' })).toEqual([all[1]])
      })

      it('answers of each type only the newest facts where so many are asked for, and all of some types', () => {
        append(store, [1, 2].map(reading))
        const all = [stored(1, 0, fact('job', 'a', 1)), stored(1, 1, fact('record', 'a', 1)), stored(1, 2, fact('record', 'b', 2)), stored(1, 3, fact('job', 'b', 2)), stored(2, 0, fact('record', 'a', 3)), stored(2, 1, fact('record', 'c', 0))]
        write(store, all, 2)
        expect(store.currentFacts(LINE, 2, ['job'])).toEqual([all[0], all[3], all[4], all[5]])
        expect(store.currentFacts(LINE, 1)).toEqual([all[3], all[5]])
      })

      it('puts another version in the place of suggestions and facts, page by page, and leaves the rest', () => {
        append(store, [1, 2, 3].map(reading))
        const all = [stored(1, 0, fact('record', 'a', 9)), stored(1, 1, note(1)), stored(2, 0, fact('record', 'a', 8)), stored(3, 0, fact('job', 'b', 7))]
        write(store, all, 3)
        const seen: LineOutput[] = []
        const rewrite = (output: LineOutput): LineOutput => {
          seen.push(output)
          return output.kind === 'fact' && output.body.type === 'record' ? { ...output, body: { ...output.body, enteredMs: 5 } } : output
        }
        const first = store.rewriteOutputs(LINE, 0, 2, rewrite)
        expect(first).toMatchObject({ rewritten: 2 })
        expect(store.rewriteOutputs(LINE, first.next!, 2, rewrite)).toEqual({ rewritten: 0 })
        expect(seen).toEqual([all[0], all[2], all[3]].map((entry) => entry!.output))
        expect(store.outputs({ line: LINE, kinds: ['fact'] }).map(({ output }) => (output.body as { enteredMs?: number }).enteredMs)).toEqual([undefined, 5, 5])
        expect(store.currentFacts(LINE)).toMatchObject([{ output: { body: { id: 'a', timeMs: 8_000, enteredMs: 5 } } }, { output: { body: { id: 'b' } } }])
        expect(store.outputs({ line: LINE, kinds: ['note'] })).toEqual([all[1]])
        // A repeat after a restart does not bring back what was.
        write(store, all, 3)
        expect(store.currentFacts(LINE)[0]).toMatchObject({ output: { body: { enteredMs: 5 } } })
        expect(store.rewriteOutputs('unknown', 0, 9, rewrite)).toEqual({ rewritten: 0 })
      })

      it('does not keep readings and features', () => {
        append(store, [reading(1)])
        write(store, [stored(1, 0, { kind: 'reading', body: { channel: 'pot.level', timeMs: 1, value: 2 } })], 1)
        expect(store.outputs({ line: LINE, kinds: ['reading', 'feature'] })).toEqual([])
      })

      it('counts rejections by reason and keeps the last of each', () => {
        append(store, [1, 2, 3].map(reading))
        write(store, [stored(1, 0, rejected('late', 'x')), stored(2, 0, rejected('late', 'y')), stored(3, 0, rejected('duplicate'))], 3)
        expect(store.rejections(LINE)).toEqual([
          { count: 1, last: rejected('duplicate').body },
          { count: 2, last: rejected('late', 'y').body },
        ])
        expect(store.outputs({ line: LINE, kinds: ['rejected'] }).map((output) => output.seq)).toEqual([2, 3])
      })

      it('can be read in the order it was written, page by page', () => {
        append(store, [1, 2, 3].map(reading))
        const all = [stored(1, 0, point(3)), stored(1, 1, note(1)), stored(2, 0, point(1)), stored(3, 0, point(2)), stored(3, 1, note(2))]
        write(store, all, 3)
        const first = store.readHistory({ point: 0, output: 0 }, 2)
        expect(first.outputs).toEqual([all[0], all[2], all[1], all[4]])
        const second = store.readHistory(first.cursor, 2)
        expect(second.outputs).toEqual([all[3]])
        expect(store.readHistory(second.cursor, 2)).toEqual({ outputs: [], cursor: second.cursor })
      })

      it('prunes what is older, but neither suggestions nor baselines', () => {
        append(store, [1, 2, 3].map(reading))
        const baseline: LineOutput = { kind: 'baseline', body: { timeMs: 1, feature: 'a', recipe: '', state: 'production', status: 'accepted', n: 50, target: 50, centre: 1, sigma: 1 } }
        write(store, [stored(1, 0, point(1)), stored(1, 1, note(1)), stored(1, 2, baseline), stored(2, 0, point(2, { centre: 9 })), stored(3, 0, point(3, { centre: 9 }))], 3)
        expect(store.pruneHistory(LINE, 2_000)).toBe(2)
        expect(store.points({ line: LINE, feature: 'pot.level.mean' })).toEqual([point(2, { centre: 9 }).body, point(3, { centre: 9 }).body])
        expect(store.outputs({ line: LINE, kinds: ['baseline', 'note'] })).toHaveLength(1)
        expect(store.pruneHistory(LINE, 99_000)).toBe(2)
        append(store, [reading(4)])
        write(store, [stored(4, 0, point(4, { centre: 9 }))], 4)
        expect(store.points({ line: LINE, feature: 'pot.level.mean' })).toEqual([point(4, { centre: 9 }).body])
      })

      it('archives a line under its id and the time, and begins anew under its id', () => {
        append(store, [reading(1)])
        write(store, [stored(1, 0, point(1)), stored(1, 1, note(1))], 1)
        const name = store.archiveLine(LINE, Date.UTC(2026, 0, 2))
        expect(name).toBe('line-a@2026-01-02T00:00:00.000Z')
        expect(store.lines()).toEqual([])
        expect(store.points({ line: name, feature: 'pot.level.mean' })).toHaveLength(1)
        expect(store.outputs({ line: name, kinds: ['note'] })[0]?.line).toBe(name)
        expect(store.outputs({ kinds: ['note'] })).toEqual([])
        expect(append(store, [reading(2)]).lastSeq).toBe(1)
        expect(store.points({ line: LINE, feature: 'pot.level.mean' })).toEqual([])
        expect(() => store.archiveLine('unknown', 0)).toThrow('"unknown"')
        expect(store.archivedLines()).toEqual([name])
      })

      it('puts another state in the place of an archived line’s, and only of one', () => {
        append(store, [1, 2, 3].map(reading))
        store.saveSnapshot({ line: LINE, seq: 1, body: { by: 'Robin' } })
        store.saveSnapshot({ line: LINE, seq: 2, body: { by: 'Robin', other: 1 } })
        expect(() => store.rewriteArchived(LINE, () => ({}))).toThrow(`"${LINE}" is not archived`)
        const name = store.archiveLine(LINE, 0)
        store.rewriteArchived(name, (body) => ({ other: (body as { other: number }).other + 1 }))
        expect(store.latestSnapshot(name)).toEqual({ snapshot: { line: name, seq: 2, body: { other: 2 } }, damage: [] })
        expect(store.readJournal(name, 0, 9).events.every(({ seq }) => seq > 0)).toBe(true)
        store.rewriteArchived(name, () => ({ other: 3 }))
        expect(store.latestSnapshot(name).snapshot?.body).toEqual({ other: 3 })
      })
    })

    describe('outbox', () => {
      it('keeps items oldest first until they are delivered, and takes an id once', () => {
        append(store, [reading(1)])
        store.commit({ line: LINE, inputs: [], outputs: [], processedSeq: 1, outbox: [item('a'), item('b'), item('c', 'webhook')] })
        store.commit({ line: LINE, inputs: [], outputs: [], processedSeq: 1, outbox: [{ ...item('a'), payload: 'changed' }] })
        expect(store.outboxCount()).toBe(3)
        expect(store.pendingOutbox(2)).toEqual([item('a'), item('b')])
        expect(store.pendingOutbox(9, { destination: 'webhook', target: 'target' })).toEqual([item('c', 'webhook')])
        expect(store.outboxLanes()).toEqual([
          { destination: 'mqtt', target: 'target', count: 2 },
          { destination: 'webhook', target: 'target', count: 1 },
        ])
        expect(store.rewriteOutbox(LINE, item('a').createdMs, () => 'other')).toBe(0)
        expect(store.rewriteOutbox(LINE, item('a').createdMs + 1, (payload) => `${payload}!`)).toBe(3)
        expect(store.rewriteOutbox(LINE, item('a').createdMs + 1, (payload) => payload)).toBe(0)
        expect(store.pendingOutbox(1)).toEqual([{ ...item('a'), payload: `${item('a').payload}!` }])
        store.markDelivered(['a', 'unknown'])
        expect(store.pendingOutbox(9).map((entry) => entry.id)).toEqual(['b', 'c'])
      })
    })

    describe('node states', () => {
      it('are written, replaced and removed by key', () => {
        expect(store.readNodeState('chart:1')).toBeUndefined()
        store.writeNodeState('chart:1', { n: 1 })
        store.writeNodeState('chart:1', { n: 2, list: ['a'] })
        expect(store.readNodeState('chart:1')).toEqual({ n: 2, list: ['a'] })
        store.removeNodeState('chart:1')
        expect(store.readNodeState('chart:1')).toBeUndefined()
      })
    })
  })
}

function append(store: LineStore, inputs: readonly LineInput[]): { readonly lastSeq: number } {
  return store.commit({ line: LINE, inputs: inputsOf(inputs), outputs: [], processedSeq: 0, outbox: [] })
}

function write(store: LineStore, outputs: readonly StoredOutput[], processedSeq: number): void {
  store.commit({ line: LINE, inputs: [], outputs, processedSeq, outbox: [] })
}

function inputsOf(inputs: readonly LineInput[]): { readonly input: LineInput; readonly receivedMs: number }[] {
  return inputs.map((input) => ({ input, receivedMs: 1_000 + (input.kind === 'value' ? Number(input.value) : 0) }))
}

function reading(number: number): LineInput {
  return { kind: 'value', channel: 'pot.level', value: number, time: number * 1_000 }
}

function stored(seq: number, ordinal: number, output: LineOutput): StoredOutput {
  return { line: LINE, seq, ordinal, output }
}

function point(number: number, changes: Partial<PointBody> = {}): Extract<LineOutput, { kind: 'point' }> {
  const value = number + 0.1
  const body = { timeMs: number * 1_000, feature: 'pot.level.mean', chart: 'individuals', value, statistic: value, centre: 0.5, lower: -2, upper: 1 / 3, sigma: 0.1, n: 25, recipe: 'board-a', state: 'production', baseline: 'provisional' } as const
  return { kind: 'point', body: { ...body, ...changes } }
}

function note(number: number): LineOutput {
  return { kind: 'note', body: { timeMs: number * 1_000, key: 'note.test', values: { number } } }
}

function fact(type: 'record' | 'job', id: string, number: number): LineOutput {
  return { kind: 'fact', body: { type, id, timeMs: number * 1_000 } as never }
}

function ruleHit(number: number, feature: string): LineOutput {
  return { kind: 'rule-hit', body: { timeMs: number * 1_000, chart: 'individuals', rule: 'one-beyond-three-sigma', side: 'above', pointTimesMs: [number * 1_000], feature, recipe: 'board-a', state: 'production' } }
}

function rejected(reason: 'late' | 'duplicate', where = 'pot.level'): Extract<LineOutput, { kind: 'rejected' }> {
  return { kind: 'rejected', body: { reason, where, timeMs: 5_000, found: '1', expected: '2' } }
}

function item(id: string, destination: OutboxItem['destination'] = 'mqtt'): OutboxItem {
  return { id, line: LINE, destination, target: 'target', payload: '{"é":1}', retain: destination === 'mqtt', createdMs: 5 }
}
