import { describe, expect, it } from 'vitest'
import { intervalRows } from '../../../src/tools/bench-interval.js'

const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length

/** Few sites a row, so the rows are judged together; `npm run bench:interval` prints each with more. */
describe('intervals learned in ten cycles, at sites whose deposit rates differ fivefold', () => {
  const rows = intervalRows(8)
  const courses = [...new Set(rows.map(({ course }) => course))]

  it.each(courses)('%s: cost within 15 %% of the best interval, and near what one would learn from whole lives', (course) => {
    const own = rows.filter((row) => row.course === course)
    expect(own).toHaveLength(5)
    expect(mean(own.map(({ learned }) => learned.mean))).toBeLessThan(1.15)
    expect(mean(own.map(({ learned }) => learned.mean)) / mean(own.map(({ whole }) => whole.mean))).toBeLessThan(1.06)
    for (const { learned } of own) expect(learned.mean).toBeGreaterThanOrEqual(1)
  })

  it('cost far less than a fixed calendar where the calendar comes too late', () => {
    const late = rows.filter(({ rate, course }) => rate > 1 && !course.includes('weak'))
    expect(late).toHaveLength(4)
    for (const { learned, calendar } of late) expect(learned.mean).toBeLessThan(0.7 * calendar)
  })
})
