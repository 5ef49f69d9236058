import { describe, expect, it } from 'vitest'
import { dueItems } from '../../../../src/maintenance/plan/due-items.js'
import type { LineBook } from '../../../../src/maintenance/plan/line-book.js'
import { minutesNow } from '../../../../src/maintenance/plan/work-effort.js'
import { WORK_CATALOGUE } from '../../../../src/maintenance/work-catalogue.js'
import { bookOf, DAY_MS, intervalOf, MONDAY_MS, recordFactOf, suggestionOf } from './plan-bench.js'

const stock = (item: 'chain-set' | 'finger-set', ready: number) => ({ type: 'stock', id: `stock-${item}`, timeMs: MONDAY_MS, item, ready, dirty: 0, atWasher: 0 }) as const
const records = (work: string, count: number, more: object) => Array.from({ length: count }, (_, week) => recordFactOf(work, { timeMs: MONDAY_MS - (week + 1) * 14 * DAY_MS, ...more }))

describe('how long a job takes', () => {
  it.each([
    ['nothing known', bookOf({}, [])],
    ['a washing machine', bookOf({ planning: { washingMachine: true } }, [])],
    ['a spare set', bookOf({}, [stock('chain-set', 1), stock('finger-set', 2)])],
    ['own records', bookOf({}, [...records('clean-chain', 4, { minutes: 130 }), ...records('clean-fingers', 4, { minutes: 50, finding: 4 })])],
    ['an interval used up twice', bookOf({}, [...records('clean-chain', 4, { minutes: 130 }), intervalOf('clean-chain', 2.5)])],
  ])('is the same in the plan as on the card, with %s', (_name, book) => {
    for (const { id, section } of WORK_CATALOGUE) {
      const zone = section === 'preheat' ? 2 : undefined
      const asked: LineBook = { ...book, suggestions: [suggestionOf([id], zone === undefined ? {} : { zone })] }
      const item = dueItems(asked).find(({ work }) => work === id)!
      expect(minutesNow(id, zone, true, asked)).toEqual(item.minutes)
    }
  })

  it('is learned from records of the same way of doing it: a swap says nothing of cleaning by hand', () => {
    const swaps = records('clean-fingers', 6, { minutes: 12, parts: ['finger-set'] })
    expect(minutesNow('clean-fingers', undefined, false, bookOf({}, swaps))).toMatchObject({ basis: 'hand', records: 0 })
    const byHand = records('clean-fingers', 6, { minutes: 100 })
    expect(minutesNow('clean-fingers', undefined, false, bookOf({}, [...byHand, stock('finger-set', 1)]))).toMatchObject({ basis: 'spare-set', records: 0 })
    expect(minutesNow('clean-fingers', undefined, false, bookOf({}, [...swaps, stock('finger-set', 1)]))).toMatchObject({ basis: 'spare-set', records: 6, likely: 13 })
    const washed = records('clean-fingers', 3, { minutes: 25, washer: true })
    expect(minutesNow('clean-fingers', undefined, false, bookOf({}, [...byHand, ...washed]))).toMatchObject({ records: 6 })
    expect(minutesNow('clean-fingers', undefined, false, bookOf({ planning: { washingMachine: true } }, [...records('clean-fingers', 2, { minutes: 100, washer: false }), ...washed]))).toMatchObject({ basis: 'washing-machine', records: 3 })
  })
})
