import { parse } from 'csv-parse/sync'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { costEvents } from '../../../../src/maintenance/cost/cost-events.js'
import { costTable } from '../../../../src/maintenance/cost/cost-table.js'
import type { MaintenanceFact } from '../../../../src/maintenance/maintenance-fact.js'
import { weekPlanOf } from '../../../../src/maintenance/plan/plan-week.js'
import { chartSvg } from '../../../../src/maintenance/report/chart-svg.js'
import { html } from '../../../../src/maintenance/report/html.js'
import { reportCsv } from '../../../../src/maintenance/report/report-csv.js'
import { reportHtml } from '../../../../src/maintenance/report/report-html.js'
import type { ReportInput, ReportKind } from '../../../../src/maintenance/report/report-input.js'
import { bookOf, DAY_MS, EARLY_SHIFT, intervalOf, jobOf, MONDAY_MS, recordFactOf, suggestionOf, WEEK } from '../plan/plan-bench.js'

const HOSTILE = '<img src=x onerror=alert(1)> "&\' </td><script>alert(2)</script>'
const NAME = 'Robin Example'
const record = recordFactOf('clean-nozzle', { timeMs: MONDAY_MS - DAY_MS, minutes: 20, finding: 2, remark: `${NAME} says ${HOSTILE}`, product: HOSTILE, by: NAME })
const facts: readonly MaintenanceFact[] = [
  { ...record, earlier: [{ record: { ...record.record, finding: 4 }, reason: `typed wrong by ${NAME}`, correctedMs: MONDAY_MS }] },
  { type: 'proof', id: 'p', timeMs: MONDAY_MS, record: record.id, work: 'clean-nozzle', section: 'fluxer', verdict: 'helped', compared: [], because: [] } as unknown as MaintenanceFact,
  jobOf('lubricate-chain', { status: 'half-done', doNotStart: 'washed-not-lubricated', doNotStartSinceMs: MONDAY_MS - DAY_MS, isolation: { holder: NAME, sinceMs: MONDAY_MS - DAY_MS }, dismantled: HOSTILE }),
  intervalOf('clean-vents', 1.1, { zone: 1 }),
  { type: 'change', id: 'c', timeMs: MONDAY_MS - DAY_MS, change: 'flux-lot', source: 'entry', text: HOSTILE, by: NAME },
  { type: 'stop', id: 's', timeMs: MONDAY_MS - DAY_MS, status: 'refused', askedMs: MONDAY_MS - 2 * DAY_MS, work: ['clean-vents'], minutes: 120, reason: `order of ${NAME}`, followed: [{ timeMs: MONDAY_MS - DAY_MS, stopKind: 'unplanned', stopMinutes: 90, boardsScrapped: 7, section: 'preheat' }] },
  { type: 'paper', id: 'paper-calibration-scale', timeMs: MONDAY_MS, paper: 'calibration', of: 'scale', reference: 'C-77', validFromMs: MONDAY_MS - 400 * DAY_MS, dueMs: MONDAY_MS - 35 * DAY_MS },
  { type: 'paper', id: 'paper-instruction-clean-nozzle', timeMs: MONDAY_MS, paper: 'instruction', of: 'clean-nozzle', reference: 'rev 3', validFromMs: MONDAY_MS - 100 * DAY_MS },
]
const book = bookOf({ title: HOSTILE.slice(0, 60), shifts: [{ ...EARLY_SHIFT, days: [...EARLY_SHIFT.days] }], costs: { labourPerHour: 40, scrapPerBoard: 12 } }, facts, [suggestionOf(['clean-vents'], { zone: 1 })])
const points = Array.from({ length: 2000 }, (_, index) => ({ timeMs: MONDAY_MS - 2000 * 60_000 + index * 60_000, value: 100 + Math.sin(index / 40) + (index === 777 ? 50 : 0), centre: 100, lower: 97, upper: 103 }))
const charts = [{ feature: 'preheat.zone-1.temperature.offset', unit: '°C', points, signals: [{ timeMs: MONDAY_MS - DAY_MS, onsetMs: MONDAY_MS - DAY_MS - 1000, side: 'above' as const }] }]

function inputOf(kind: ReportKind): ReportInput {
  const costs = costTable(costEvents(book, MONDAY_MS - 7 * DAY_MS, MONDAY_MS), () => book.definition.costs, 'UTC')
  return { kind, site: HOSTILE, fromMs: MONDAY_MS - 7 * DAY_MS, untilMs: MONDAY_MS, timeZone: 'UTC', lines: [{ book, charts }], plan: weekPlanOf([book], WEEK, 'UTC'), costs }
}

describe('markup', () => {
  it('escapes whatever is filled in, in content and attributes, and only once', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (text) => {
        const inner = html`<b title="${text}">${text}</b>`.text
        expect(inner).toMatch(/^<b title="[^"<>']*">[^<>"']*<\/b>$/)
        expect(html`<p>${[html`<i>${text}</i>`, text]}</p>`.text.match(/</g)).toHaveLength(4)
      }),
      { numRuns: 40 },
    )
    expect(html`${'&lt;'}${Number.NaN}${undefined}${7}`.text).toBe('&amp;lt;7')
  })
})

describe.each(['en-US', 'es'] as const)('the report in %s', (language) => {
  it.each(['hand-over', 'week', 'audit'] as const)('%s: executes nothing, fetches nothing, names nobody, is whole', (kind) => {
    const page = reportHtml(inputOf(kind), language)
    expect(page).not.toMatch(/<script|<img|<iframe|<link|<a\s|javascript:|url\(|@import/i)
    // No attribute but ours, and no element that is not one of ours.
    expect([...new Set([...page.matchAll(/<([a-z0-9]+)/g)].map(([, name]) => name))].filter((name) => !ELEMENTS.includes(name!))).toEqual([])
    expect([...page.matchAll(/<[a-z][^>]*>/g)].filter(([tag]) => /\son\w+=/i.test(tag))).toEqual([])
    expect(page).not.toContain(NAME)
    expect(page).not.toContain('Robin')
    expect(page).not.toMatch(/undefined|NaN|\[object|\{[a-z]+\}/)
    expect(page).toContain(`<html lang="${language}">`)
    expect(page).toContain('@page')
    expect(reportHtml(inputOf(kind), language)).toBe(page)
  })

  it('begins with what must not run', () => {
    const page = reportHtml(inputOf('hand-over'), language)
    expect(page.indexOf(language === 'es' ? 'No arrancar' : 'Do not start')).toBeLessThan(page.indexOf('<h2>', page.indexOf('<h2>') + 4))
    expect(page).toContain(language === 'es' ? 'ayudó' : 'helped')
  })

  it('gives an auditor papers, what is overdue or missing, corrections with their first version, and charts', () => {
    const page = reportHtml(inputOf('audit'), language)
    for (const words of language === 'es' ? ['vencido', 'rev 3', 'primera versión', 'Sin calibración anotada de: sonda de referencia'] : ['overdue', 'rev 3', 'first version', 'No calibration entered for: reference probe']) expect(page).toContain(words)
    expect(page.match(/<svg/g)).toHaveLength(1)
  })

  it('draws the outlier of a long chart', () => {
    const data = /class="data" points="([^"]+)"/.exec(reportHtml(inputOf('week'), language))?.[1]?.split(' ') ?? []
    expect(data.length).toBeLessThanOrEqual(600)
    expect(data.length).toBeGreaterThan(400)
    const heights = data.map((point) => Number(point.split(',')[1]))
    expect(heights.every(Number.isFinite)).toBe(true)
    expect(Math.min(...heights)).toBeLessThan(30)
  })

  it('is told as CSV too, without names and formulas', () => {
    const rows = parse(reportCsv(inputOf('audit'), language), { columns: true }) as Record<string, string>[]
    expect(new Set(rows.map(({ part }) => part))).toEqual(new Set(['first', 'suggestion', 'record', 'change', 'stop', 'interval', 'paper', 'plan', 'cost']))
    for (const cell of rows.flatMap((row) => Object.values(row))) {
      expect(cell).not.toContain('Robin')
      expect(cell).not.toMatch(/^\s*[=+@\t]/)
    }
  })
})

const ELEMENTS = ['html', 'head', 'meta', 'title', 'style', 'body', 'header', 'section', 'h1', 'h2', 'h3', 'p', 'span', 'ul', 'li', 'table', 'thead', 'tbody', 'tr', 'th', 'td', 'strong', 'footer', 'figure', 'figcaption', 'svg', 'line', 'polyline', 'circle', 'text']

describe('a week of a running line', () => {
  const often = Array.from({ length: 9 }, (_, index): MaintenanceFact => ({ type: 'change', id: `r${index}`, timeMs: MONDAY_MS - (index + 1) * 3_600_000, change: 'recipe', source: 'channel', from: 'a', to: 'b' }))

  it('tells what changes many times a day once, with its count', () => {
    const page = reportHtml({ ...inputOf('week'), lines: [{ book: { ...book, facts: [...often, ...book.facts] }, charts: [] }] }, 'en-US')
    expect(page).toContain('9 times recipe')
    expect(page.match(/recipe/g)).toHaveLength(1)
    expect(page).toContain('flux lot')
  })

  it('leaves gaps of its charts as gaps', () => {
    const gap = points.slice(0, 40).map((point, index) => ({ ...point, timeMs: point.timeMs + (index < 20 ? 0 : 3_600_000) }))
    const page = reportHtml({ ...inputOf('week'), lines: [{ book, charts: [{ ...charts[0]!, points: gap, signals: [] }] }] }, 'en-US')
    expect(page.match(/class="data"/g)).toHaveLength(2)
  })
})

describe('the chart of a report', () => {
  const shares = Array.from({ length: 30 }, (_, index) => ({ timeMs: MONDAY_MS + index * 600_000, value: (index % 3) * 0.002 - 0.002, centre: 0, lower: -0.005, upper: 0.005 }))

  it('labels small limits with the decimals they need, and the ends of one day with their times', () => {
    const svg = chartSvg({ ...charts[0]!, points: shares, signals: [] } as unknown as Parameters<typeof chartSvg>[0], 'en-US', 'UTC').text
    const labels = [...svg.matchAll(/<text[^>]*>([^<]*)</g)].map(([, text]) => text)
    expect(labels.slice(0, 3)).toEqual(['0.005', '-0.005', '0'])
    expect(labels[3]).toMatch(/ 5:00 AM$/)
    expect(labels[4]).toMatch(/ 9:50 AM$/)
  })
})

describe('the instruction in force', () => {
  const done = recordFactOf('clean-rails', { timeMs: MONDAY_MS - DAY_MS, minutes: 30 })
  const auditOf = (more: readonly MaintenanceFact[], edits: object): string => {
    const own = bookOf({ siteWork: { edits } } as Parameters<typeof bookOf>[0], [done, ...more])
    return reportHtml({ kind: 'audit', site: 'plant', fromMs: MONDAY_MS - 7 * DAY_MS, untilMs: MONDAY_MS, timeZone: 'UTC', lines: [{ book: own, charts: [] }] }, 'en-US')
  }

  it('is the one that the line definition names, until another is entered', () => {
    const named = { 'clean-rails': { instruction: { id: 'WI-12', revision: 'C' } } }
    expect(auditOf([], {})).toMatch(/without an instruction in force: [^<]*Clean the rails/)
    const page = auditOf([], named)
    expect(page).toContain('WI-12, revision C')
    expect(page).not.toMatch(/without an instruction in force/)
    const entered: MaintenanceFact = { type: 'paper', id: 'paper-instruction-clean-rails', timeMs: MONDAY_MS, paper: 'instruction', of: 'clean-rails', reference: 'rev 9', validFromMs: MONDAY_MS - 100 * DAY_MS, dueMs: MONDAY_MS - 50 * DAY_MS }
    const replaced = auditOf([entered], named)
    expect(replaced).toContain('rev 9')
    expect(replaced).not.toContain('WI-12')
    expect(replaced).toMatch(/without an instruction in force: [^<]*Clean the rails/)
  })
})
