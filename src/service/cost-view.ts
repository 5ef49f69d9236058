import type { Language, InLanguages } from '../maintenance/catalogue-language.js'
import { compareCleaning, type CleaningComparison, type FireGate } from '../maintenance/cost/cleaning-methods.js'
import { costEvents } from '../maintenance/cost/cost-events.js'
import { costTable, type CostTable } from '../maintenance/cost/cost-table.js'
import { earlierCleaning } from '../maintenance/cost/earlier-cleaning.js'
import { factsOf, type LineBook } from '../maintenance/plan/line-book.js'
import { siteCatalogue } from '../maintenance/site-catalogue.js'
import { workTitle } from '../maintenance/plan/plan-words.js'
import { csvText } from '../maintenance/report/csv-text.js'
import { amountText, costText, figureText, moneyText } from '../maintenance/report/report-format.js'
import { COST_KIND_TITLES } from '../maintenance/report/report-words.js'
import { dateText, fill, listText } from '../maintenance/wording-format.js'
import { SECTION_TITLES } from '../maintenance/wording-data-sentences.js'
import { isoTime } from './output-json.js'
import type { SiteBook } from './plan-book.js'

const WORDS = {
  assumption: {
    'en-US': 'Assumed: {work} when it was suggested ({from}) would have prevented all that failed in this section until the work ({until}). The cleaning costs the same at either time.',
    es: 'Supuesto: {work} cuando se sugirió ({from}) habría evitado todo lo que falló en esta sección hasta el trabajo ({until}). La limpieza cuesta lo mismo en ambos momentos.',
  },
  'not-done': { 'en-US': 'not done yet', es: 'aún no hecho' },
  and: { 'en-US': ' and ', es: ' y ' },
  'gate.allowed': { 'en-US': 'may be used, as its data sheet and the local rules say', es: 'se puede usar, según su ficha y las normas locales' },
  'gate.cool-first': { 'en-US': 'not before the hottest surface is measured below {below} °C', es: 'no antes de medir la superficie más caliente por debajo de {below} °C' },
  'gate.measure-first': { 'en-US': 'measure the hottest surface within reach by hand first; it must be below {below} °C', es: 'mida antes a mano la superficie más caliente al alcance; debe estar por debajo de {below} °C' },
  'gate.never': { 'en-US': 'not at this machine, whatever it costs: its vapor ignites at {flash} °C, in any room', es: 'no en esta máquina, cueste lo que cueste: su vapor se inflama a {flash} °C, en cualquier sala' },
  'gate.no-data-sheet': { 'en-US': 'not offered: its flash point is not known, look in the data sheet', es: 'no se ofrece: no se conoce su punto de inflamación, mire la ficha' },
  'verdict.cheapest': { 'en-US': 'Costs least: {method}.', es: 'Cuesta menos: {method}.' },
  'verdict.about-equal': { 'en-US': 'About equal: {methods}. The number of passes does not tell them apart; choose by what is safer and easier.', es: 'Más o menos igual: {methods}. El número de pasadas no los distingue; elija lo más seguro y sencillo.' },
  'verdict.one-allowed': { 'en-US': 'Only one may be used: {method}.', es: 'Solo se puede usar uno: {method}.' },
  'verdict.none-allowed': { 'en-US': 'None may be used as things stand.', es: 'Tal como están las cosas no se puede usar ninguno.' },
  'verdict.no-figure': { 'en-US': 'No figure: {figures} missing.', es: 'Sin cifra: falta {figures}.' },
  'break-even.none': { 'en-US': 'none: dearer even for nothing', es: 'ninguno: más caro incluso gratis' },
  'passes.defined': { 'en-US': 'passes: {passes}, from the definition; count your own on your own residue', es: 'pasadas: {passes}, de la definición; cuente las suyas con su propio residuo' },
  'passes.counted': { 'en-US': 'passes: {passes}, counted in {count} {count:record|records}', es: 'pasadas: {passes}, contadas en {count} {count:anotación|anotaciones}' },
} as const satisfies Readonly<Record<string, InLanguages<string>>>

export function siteCosts({ books, timeZone }: SiteBook, fromMs: number, untilMs: number): CostTable {
  const byLine = new Map(books.map((book) => [book.definition.line, book]))
  return costTable(books.flatMap((book) => costEvents(book, fromMs, untilMs)), (line) => byLine.get(line)?.definition.costs, timeZone)
}

/** Costs in words, as `/api/cost` gives them. */
export function costView(site: SiteBook, fromMs: number, untilMs: number, language: Language): Record<string, unknown> {
  const { currency, rows, total, missing } = siteCosts(site, fromMs, untilMs)
  // A job of one line's own is known to no other.
  const titleOf = (work: string): string => workTitle(work, language, site.books.find(({ definition }) => siteCatalogue(definition).item(work) !== undefined)?.definition)
  return {
    from: isoTime(fromMs),
    until: isoTime(untilMs),
    currency,
    total,
    totalText: moneyText(total, currency, language),
    missing,
    missingTexts: missing.map((figure) => figureText(figure, titleOf)),
    rows: rows.map((row) => ({
      month: row.month,
      line: row.line,
      title: site.titles.get(row.line) ?? row.line,
      section: row.section,
      sectionTitle: SECTION_TITLES[row.section][language],
      kind: row.kind,
      kindTitle: COST_KIND_TITLES[row.kind][language],
      quantity: row.quantity,
      ...(row.cost.kind === 'amount' ? { amount: row.cost.amount } : { missing: row.cost.missing }),
      text: costText(row.cost, currency, language, titleOf),
    })),
    earlier: site.books.flatMap((book) => earlierView(book, site, fromMs, untilMs, language)),
  }
}

function earlierView(book: LineBook, { titles }: SiteBook, fromMs: number, untilMs: number, language: Language): Record<string, unknown>[] {
  const { definition } = book
  const day = (timeMs: number): string => dateText(timeMs, language, definition.timeZone)
  return earlierCleaning(book, fromMs, untilMs).map(({ suggestion, section, work, suggestedMs, doneMs, saved, events }) => ({
    line: definition.line,
    title: titles.get(definition.line) ?? definition.line,
    suggestion,
    sectionTitle: SECTION_TITLES[section][language],
    work: work.map((id) => workTitle(id, language, definition)),
    suggested: isoTime(suggestedMs),
    ...(doneMs === undefined ? {} : { done: isoTime(doneMs) }),
    events: events.map(({ kind, quantity }) => `${COST_KIND_TITLES[kind][language]}: ${amountText(quantity, language)}`),
    text: costText(saved, definition.costs?.currency ?? 'EUR', language),
    assumption: fill(WORDS.assumption[language], { work: listText(work.map((id) => workTitle(id, language, definition)), WORDS.and[language]), from: day(suggestedMs), until: doneMs === undefined ? WORDS['not-done'][language] : day(doneMs) }),
  }))
}

/** Ways of cleaning compared for one line, as `/api/lines/:line/cleaning-methods` gives it. */
export function methodsView(book: LineBook, options: { readonly hottestSurfaceC?: number; readonly duringProduction: boolean }, language: Language): Record<string, unknown> {
  const comparison = compareCleaning(book.definition, { ...options, records: factsOf(book, 'record').filter(({ withdrawn }) => !withdrawn).map(({ record }) => record) })
  const { currency, methods } = comparison
  return {
    currency,
    verdict: comparison.verdict.kind,
    verdictText: verdictText(comparison, language),
    methods: methods.map(({ method, gate, counted, cost, breakEven }) => ({
      method: method.method,
      gate: gate.gate,
      gateText: gateText(gate, language),
      passes: fill(WORDS[counted > 0 ? 'passes.counted' : 'passes.defined'][language], { passes: amountText(method.passes, language), count: String(counted) }),
      ...(cost.kind === 'cost' ? { low: cost.low, likely: cost.likely, high: cost.high } : { missing: cost.missing }),
      text: cost.kind === 'cost' ? `${moneyText(cost.likely, currency, language)} (${moneyText(cost.low, currency, language)} – ${moneyText(cost.high, currency, language)})` : costText(cost, currency, language),
      ...(breakEven === undefined ? {} : { breakEven, breakEvenText: breakEven < 0 ? WORDS['break-even.none'][language] : moneyText(breakEven, `${currency}/L`, language) }),
    })),
  }
}

function gateText(gate: FireGate, language: Language): string {
  const values = gate.gate === 'cool-first' || gate.gate === 'measure-first' ? { below: amountText(gate.belowC, language) } : gate.gate === 'never' ? { flash: amountText(gate.flashPointC, language) } : {}
  return fill(WORDS[`gate.${gate.gate}`][language], values as Readonly<Record<string, string>>)
}

function verdictText({ verdict }: CleaningComparison, language: Language): string {
  switch (verdict.kind) {
    case 'cheapest':
    case 'one-allowed':
      return fill(WORDS[`verdict.${verdict.kind}`][language], { method: verdict.method })
    case 'about-equal':
      return fill(WORDS['verdict.about-equal'][language], { methods: listText(verdict.methods, WORDS.and[language]) })
    case 'none-allowed':
      return WORDS['verdict.none-allowed'][language]
    case 'no-figure':
      return fill(WORDS['verdict.no-figure'][language], { figures: listText(verdict.missing, WORDS.and[language]) })
  }
}

const COST_COLUMNS = ['month', 'line', 'section', 'what', 'quantity', 'amount', 'currency', 'missing'] as const

/** Costs as CSV; an amount without its figure is empty, with the figures that are missing beside it. */
export function costCsv(site: SiteBook, fromMs: number, untilMs: number): string {
  const { currency, rows } = siteCosts(site, fromMs, untilMs)
  return csvText(COST_COLUMNS, rows.map(({ month, line, section, kind, quantity, cost }) => [month, line, section, kind, quantity, cost.kind === 'amount' ? cost.amount : undefined, currency, cost.kind === 'no-figure' ? cost.missing.join(' ') : '']))
}
