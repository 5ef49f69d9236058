import { describe, expect, it } from 'vitest'
import { parseLineDefinition } from '../../../src/line/line-definition.js'
import type { IntervalFact } from '../../../src/maintenance/intervals/interval-fact.js'
import { intervalViews } from '../../../src/service/interval-view.js'
import { LineProjection } from '../../../src/service/line-projection.js'
import { siteBook } from '../../../src/service/plan-book.js'
import { siteIntervals } from '../../../src/service/site-intervals.js'
import type { SiteView } from '../../../src/service/site-view.js'

const NOW_MS = Date.UTC(2026, 10, 23, 5)

function lineOf(line: string, fact: Partial<IntervalFact>) {
  const parsed = parseLineDefinition({ line })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  const projection = new LineProjection()
  projection.take({ kind: 'fact', body: { type: 'interval', id: 'interval-clean-rails', timeMs: NOW_MS, work: 'clean-rails', section: 'transport', scale: 'running-hours', interval: 160, startInterval: 160, verdict: 'not-enough-history', events: 0, censored: 0, safety: false, because: [{ key: 'interval.few-cycles', values: { cycles: 0, wanted: 5 } }], age: 70, used: 70 / 160, lives: [], costs: { planned: 1, failure: 10 }, ...fact } })
  return { definition: parsed.definition, projection, nowMs: () => NOW_MS }
}

const fouled = [60, 62, 58, 61, 60, 63].map((age) => ({ age, event: true, lower: age - 5, upper: age }))
const dirty = lineOf('line-a', { lives: fouled, events: 6, interval: 50, verdict: 'keep' })
const fresh = lineOf('line-b', {})
const site = { lines: () => [dirty, fresh] } as unknown as SiteView

describe('intervals of a site with several lines', () => {
  it('are in force as sister lines share them: in the list of a line and in its plan alike', () => {
    const [view] = intervalViews(fresh as never, [dirty, fresh] as never, 'en-US')
    expect(view).toMatchObject({ verdict: 'shorten', sisters: { lines: 1 } })
    expect(view!.words).toContain('Sister lines count with its own short history (1).')
    const inPlan = siteBook(site).books.find(({ definition }) => definition.line === 'line-b')!.facts.find((fact): fact is IntervalFact => fact.type === 'interval')!
    expect(inPlan.interval).toBe(view!.interval)
    expect(inPlan.used).toBeGreaterThan(0.7)
    expect(siteIntervals([fresh as never]).get('line-b')?.[0]?.fact.interval).toBe(160)
    expect(siteIntervals([dirty, fresh] as never).get('line-a')?.[0]?.fact.interval).toBe(50)
  })

  it('are reckoned once for the same facts, and anew when one has changed', () => {
    const before = siteIntervals([dirty, fresh] as never)
    expect(siteIntervals([dirty, fresh] as never)).toBe(before)
    const [fact] = fresh.projection.factsOf('interval')
    fresh.projection.take({ kind: 'fact', body: { ...fact!, age: 10, used: 10 / 160 } })
    const after = siteIntervals([dirty, fresh] as never).get('line-b')![0]!.fact
    expect(after.age).toBe(10)
    expect(after.used).toBeCloseTo(10 / after.interval, 2)
  })
})
