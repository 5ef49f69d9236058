import { featureCatalogue } from '../line/features/feature-catalogue.js'
import type { MaintenanceFact, MaintenanceFactType } from '../maintenance/maintenance-fact.js'
import type { DriftNote, LineBook } from '../maintenance/plan/line-book.js'
import { currentWeek } from '../maintenance/plan/plan-week.js'
import { siteIntervals, type IntervalInForce } from './site-intervals.js'
import type { SiteLine, SiteView } from './site-view.js'

/** What plan, costs and reports read of a line. */
const FACT_TYPES: readonly MaintenanceFactType[] = ['record', 'job', 'round', 'rounds', 'proof', 'hold', 'change', 'interval', 'start-up', 'plan', 'stop', 'stock', 'paper']

/**
 * All that is known of a line now, for plan, costs and reports.
 *
 * @param intervals as they are in force beside sister lines; the line's own where they are absent
 */
export function lineBook(line: Pick<SiteLine, 'definition' | 'projection' | 'nowMs'>, intervals?: readonly IntervalInForce[]): LineBook {
  const { definition, projection } = line
  return {
    definition,
    nowMs: line.nowMs(),
    state: projection.state,
    recipe: projection.recipe,
    suggestions: projection.allSuggestions(),
    facts: FACT_TYPES.flatMap((type): readonly MaintenanceFact[] => (type === 'interval' && intervals !== undefined ? intervals.map(({ fact }) => fact) : projection.factsOf(type))),
    drifts: driftsOf(line),
  }
}

/** What is known of how long work takes on a line, as `minutesNow` reads it. */
export function effortBook({ definition, projection }: Pick<SiteLine, 'definition' | 'projection'>): Pick<LineBook, 'definition' | 'facts'> {
  return { definition, facts: [...projection.factsOf('record'), ...projection.factsOf('stock'), ...projection.factsOf('interval')] }
}

function driftsOf({ definition, projection }: Pick<SiteLine, 'definition' | 'projection'>): DriftNote[] {
  const specs = new Map(featureCatalogue(definition).map((spec) => [spec.feature, spec]))
  return projection.insights().flatMap((insight): DriftNote[] => {
    if (insight.type !== 'drift' || insight.phase === 'end') return []
    const spec = specs.get(insight.feature)
    if (spec === undefined) return []
    return [{ feature: insight.feature, section: spec.section, ...(spec.zone === undefined ? {} : { zone: spec.zone }), onsetMs: insight.onsetMs, ...(insight.dueMs === undefined ? {} : { dueMs: insight.dueMs }) }]
  })
}

/** The site as plan, costs and reports see it; one zone for its weeks, that of its first line. */
export interface SiteBook {
  readonly books: readonly LineBook[]
  readonly timeZone: string
  readonly titles: ReadonlyMap<string, string>
  /** Time of the furthest line, ms UTC; undefined without lines. */
  readonly nowMs: number | undefined
  readonly week: string | undefined
}

export function siteBook(site: SiteView, only?: string): SiteBook {
  const intervals = siteIntervals(site.lines())
  const books = site.lines().filter(({ definition }) => only === undefined || definition.line === only).map((line) => lineBook(line, intervals.get(line.definition.line)))
  const timeZone = books[0]?.definition.timeZone ?? 'UTC'
  return {
    books,
    timeZone,
    titles: new Map(books.map(({ definition }) => [definition.line, definition.title ?? definition.line])),
    nowMs: books.length === 0 ? undefined : Math.max(...books.map(({ nowMs }) => nowMs)),
    week: currentWeek(books, timeZone),
  }
}
