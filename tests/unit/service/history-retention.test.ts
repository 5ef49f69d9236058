import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { openMemoryLineStore } from '../../../src/adapters/memory/memory-line-store.js'
import { HistoryRetention, historyKeepMs } from '../../../src/service/history-retention.js'

const DAY_MS = 86_400_000
const NOW_MS = Date.UTC(2026, 5, 1)

beforeEach(() => {
  vi.useFakeTimers()
})

afterEach(() => {
  vi.useRealTimers()
})

function storeWith(line: string, daysOld: readonly number[]) {
  const store = openMemoryLineStore()
  store.commit({ line, inputs: daysOld.map((_, index) => ({ input: { kind: 'value', channel: 'pot.level', value: index }, receivedMs: NOW_MS })), outputs: [], processedSeq: 0, outbox: [] })
  const chart = { feature: 'pot.level.mean', chart: 'individuals', recipe: '', state: 'production', statistic: 1, centre: 1, lower: 0, upper: 2, sigma: 1, n: 30, baseline: 'provisional' } as const
  const outputs = daysOld.map((days, index) => ({ line, seq: index + 1, ordinal: 0, output: { kind: 'point' as const, body: { ...chart, timeMs: NOW_MS - days * DAY_MS, value: days } } }))
  store.commit({ line, inputs: [], outputs, processedSeq: daysOld.length, outbox: [] })
  return store
}

const daysLeft = (store: ReturnType<typeof storeWith>, line: string): number[] => store.points({ line, feature: 'pot.level.mean' }).map(({ value }) => value)

describe('history retention', () => {
  it('lets what is older than the span go every hour, by the line’s own clock', () => {
    const store = storeWith('line-a', [500, 401, 399, 1])
    let nowMs = NOW_MS
    const retention = new HistoryRetention({ store, keepMs: 400 * DAY_MS, lines: () => [{ definition: { line: 'line-a' }, nowMs: () => nowMs }], log: () => undefined })
    expect(daysLeft(store, 'line-a')).toEqual([500, 401, 399, 1])
    vi.advanceTimersByTime(3_600_000)
    expect(daysLeft(store, 'line-a')).toEqual([399, 1])
    nowMs += 10 * DAY_MS
    vi.advanceTimersByTime(3_600_000)
    expect(daysLeft(store, 'line-a')).toEqual([1])
    retention.close()
    nowMs += 1000 * DAY_MS
    vi.advanceTimersByTime(10 * 3_600_000)
    expect(daysLeft(store, 'line-a')).toEqual([1])
  })

  it('keeps no process alive', () => {
    vi.useRealTimers()
    const timers = vi.spyOn(globalThis, 'setInterval')
    const retention = new HistoryRetention({ store: openMemoryLineStore(), keepMs: DAY_MS, lines: () => [], log: () => undefined })
    expect((timers.mock.results[0]?.value as NodeJS.Timeout).hasRef()).toBe(false)
    retention.close()
    timers.mockRestore()
  })

  it('tells what could not be removed, and goes on with the other lines', () => {
    const store = storeWith('line-b', [500, 1])
    const prune = store.pruneHistory.bind(store)
    store.pruneHistory = (line, beforeMs) => {
      if (line === 'line-a') throw new Error('disk full')
      return prune(line, beforeMs)
    }
    const told: string[] = []
    const lines = ['line-a', 'line-b'].map((line) => ({ definition: { line }, nowMs: () => NOW_MS }))
    const retention = new HistoryRetention({ store, keepMs: 400 * DAY_MS, lines: () => lines, log: (message) => told.push(message) })
    retention.prune()
    retention.close()
    expect(told).toEqual(['line "line-a": old history could not be removed: disk full'])
    expect(daysLeft(store, 'line-b')).toEqual([1])
  })

  it('takes its span from the environment, 400 days without it', () => {
    expect(historyKeepMs({})).toBe(400 * DAY_MS)
    expect(historyKeepMs({ WAVE_SPC_KEEP_DAYS: '' })).toBe(400 * DAY_MS)
    expect(historyKeepMs({ WAVE_SPC_KEEP_DAYS: '30' })).toBe(30 * DAY_MS)
    for (const text of ['0', '-1', '1.5', 'forever', '1e9']) expect(() => historyKeepMs({ WAVE_SPC_KEEP_DAYS: text })).toThrow(`got "${text}"`)
  })
})
