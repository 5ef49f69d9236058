import type { Language } from '../maintenance/catalogue-language.js'
import { INSTRUMENTS, STOCK_ITEMS } from '../maintenance/plan/plan-entry.js'
import { factsOf } from '../maintenance/plan/line-book.js'
import { workTitle } from '../maintenance/plan/plan-words.js'
import { STOCK_TITLES } from '../maintenance/plan/stock-titles.js'
import { siteCatalogue } from '../maintenance/site-catalogue.js'
import { WORK_STOCK } from '../maintenance/plan/work-parts.js'
import { csvText } from '../maintenance/report/csv-text.js'
import { contextOf, paperRows, stopRows } from '../maintenance/report/report-rows.js'
import { reportTextOf } from '../maintenance/report/report-words.js'
import { isoTime } from './output-json.js'
import type { SiteBook } from './plan-book.js'

/** The ledger of stops: asked, answered, and what followed; names of people are left out. The newest first. */
export function ledgerView({ books, titles }: SiteBook, language: Language): Record<string, unknown>[] {
  return books
    .flatMap((book) => {
      const words = new Map(stopsInWords(book, language).map((row, index) => [index, row]))
      return [...factsOf(book, 'stop')]
        .sort((a, b) => a.askedMs - b.askedMs)
        .map((stop, index) => ({
          id: stop.id,
          line: book.definition.line,
          title: titles.get(book.definition.line) ?? book.definition.line,
          asked: isoTime(stop.askedMs),
          status: stop.status,
          ...(stop.fromMs === undefined ? {} : { from: isoTime(stop.fromMs) }),
          ...(stop.minutes === undefined ? {} : { minutes: stop.minutes }),
          ...(stop.people === undefined ? {} : { people: stop.people }),
          work: stop.work.map((work) => workTitle(work, language, book.definition)),
          answer: words.get(index)?.answer ?? reportTextOf(`stop.${stop.status}`, language),
          followed: words.get(index)?.followed ?? '',
          followedCount: stop.followed.length,
        }))
    })
    .sort((a, b) => b.asked.localeCompare(a.asked))
}

function stopsInWords(book: SiteBook['books'][number], language: Language): ReturnType<typeof stopRows> {
  return stopRows(contextOf(book, { fromMs: 0, untilMs: Number.MAX_SAFE_INTEGER, timeZone: book.definition.timeZone }, language))
}

const LEDGER_COLUMNS = ['line', 'stop', 'asked', 'from', 'minutes', 'people', 'work', 'status', 'answer', 'followed'] as const

/** The ledger as CSV. */
export function ledgerCsv(site: SiteBook, language: Language): string {
  const rows = ledgerView(site, language).reverse()
  return csvText(LEDGER_COLUMNS, rows.map((row) => [String(row['line']), String(row['id']), String(row['asked']), row['from'] as string | undefined, row['minutes'] as number | undefined, row['people'] as number | undefined, (row['work'] as string[]).join(', '), String(row['status']), String(row['answer']), String(row['followed'])]))
}

/** What goes to the washer and comes back. */
const SPARE_SETS: ReadonlySet<string> = new Set(Object.values(WORK_STOCK).flatMap(({ spareSet }) => spareSet?.item ?? []))

/** Every job that any of the lines knows, the site's own after the package's. */
function stockWorks(books: SiteBook['books'], language: Language): { work: string; title: string }[] {
  const titles = new Map(books.flatMap(({ definition }) => siteCatalogue(definition).items.map(({ id }) => [id, workTitle(id, language, definition)] as const)))
  return [...titles].map(([work, title]) => ({ work, title }))
}

/** What is in stock and which papers are in force, of every line, with what can be entered. */
export function stockView({ books, titles }: SiteBook, language: Language): Record<string, unknown> {
  return {
    lines: books.map((book) => ({
      line: book.definition.line,
      title: titles.get(book.definition.line) ?? book.definition.line,
      stock: factsOf(book, 'stock').map(({ item, ready, dirty, atWasher, timeMs, countedMs, moves }) => ({ item, title: STOCK_TITLES[item][language], ready, dirty, atWasher, counted: isoTime(countedMs ?? timeMs), moves: moves ?? 0, isSet: SPARE_SETS.has(item) })),
      papers: paperRows(contextOf(book, { fromMs: 0, untilMs: book.nowMs, timeZone: book.definition.timeZone }, language)),
    })),
    items: STOCK_ITEMS.map((item) => ({ item, title: STOCK_TITLES[item][language] })),
    works: stockWorks(books, language),
    instruments: INSTRUMENTS.map((instrument) => ({ instrument, title: reportTextOf(`instrument.${instrument}`, language) })),
  }
}
