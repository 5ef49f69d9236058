import { invisibleFaults } from '../../line/diagnosis/visibility.js'
import type { LineDefinition } from '../../line/line-definition.js'
import type { Language } from '../catalogue-language.js'
import type { CostTable } from '../cost/cost-table.js'
import { amountWords } from '../intervals/interval-words.js'
import { roundCheck } from '../rounds/round-catalogue.js'
import type { RoundFact } from '../rounds/round-fact.js'
import { roundCheckWords, roundReasonWords } from '../rounds/round-words.js'
import { factsOf } from '../plan/line-book.js'
import { placeText, planReasonText, itemTitle, workTitle } from '../plan/plan-words.js'
import type { WeekPlan } from '../plan/week-plan.js'
import { invisibleText, suggestionView } from '../wording.js'
import { SECTION_TITLES } from '../wording-data-sentences.js'
import { html, type Html, type HtmlPart } from './html.js'
import { amountText, costText, moneyText, timeText } from './report-format.js'
import { changeTexts, firstThings, paperGaps, paperRows, stopRows, workRows, type ReportContext } from './report-rows.js'
import { COST_KIND_TITLES, reportText, reportTextOf, type ReportWord } from './report-words.js'

const OPEN_JOBS = ['open', 'taken', 'started', 'paused', 'waiting-for-part', 'put-off']

/** A table, or a sentence where there is nothing to show. */
export function table(header: readonly string[], rows: readonly (readonly HtmlPart[])[], none: string): Html {
  if (rows.length === 0) return html`<p class="soft">${none}</p>`
  return html`<table><thead><tr>${header.map((cell) => html`<th scope="col">${cell}</th>`)}</tr></thead><tbody>
${rows.map((row) => html`<tr>${row.map((cell) => html`<td>${cell}</td>`)}</tr>
`)}</tbody></table>`
}

export function firstSection(contexts: readonly ReportContext[], language: Language): Html {
  const items = contexts.flatMap((context) => {
    const line = titleOf(context)
    const urgent = context.book.suggestions.filter(({ status, urgency }) => urgency === 'urgent' && (status === 'open' || status === 'taken'))
    return [
      ...firstThings(context).map(({ text, act }) => html`<li class="${act ? 'act' : ''}">${line}: ${text}</li>`),
      ...urgent.map((suggestion) => html`<li class="act">${line}: ${reportText('urgent', language)} · ${suggestionView(suggestion, language, context.timeZone).headline}</li>`),
    ]
  })
  return html`<section><h2>${reportText('first', language)}</h2>${items.length === 0 ? html`<p class="soft">${reportText('first.none', language)}</p>` : html`<ul>${items}</ul>`}</section>`
}

export function titleOf({ book }: ReportContext): string {
  return book.definition.title ?? book.definition.line
}

/** What is open: suggestions, jobs, settings on hold. */
export function openSection({ book, language, timeZone, hide }: ReportContext): Html {
  const suggestions = book.suggestions.filter(({ status }) => status === 'open' || status === 'taken' || status === 'put-off').map((suggestion) => {
    const { headline, byWhen } = suggestionView(suggestion, language, timeZone)
    return html`<li>${headline} <span class="soft">${byWhen}</span></li>`
  })
  const jobs = factsOf(book, 'job').filter(({ status }) => OPEN_JOBS.includes(status)).map((job) => html`<li>${workTitle(job.work, language, book.definition)} (${placeText(job, language)})${job.part === undefined ? undefined : html` <span class="soft">${reportText('waits-for', language, { part: hide(job.part) })}</span>`}</li>`)
  const holds = factsOf(book, 'hold').filter(({ on }) => on).map((hold) => {
    const left = hold.checks.filter(({ done }) => !done)
    const unexplained = hold.changes.filter(({ reason }) => reason === undefined).length
    return html`<li>${reportText('hold.on', language, { since: timeText(hold.sinceMs, language, timeZone), left: String(left.length), minutes: String(Math.round(left.reduce((sum, check) => sum + check.minutes, 0))) })}${unexplained === 0 ? undefined : ` ${reportText('hold.unexplained', language, { count: String(unexplained) })}`}</li>`
  })
  const items = [...holds, ...suggestions, ...jobs]
  return html`<h3>${reportText('open.title', language)}</h3>${items.length === 0 ? html`<p class="soft">${reportText('open.none', language)}</p>` : html`<ul>${items}</ul>`}`
}

export function doneSection(context: ReportContext): Html {
  const { language } = context
  const header: readonly ReportWord[] = ['when', 'job', 'place', 'finding', 'minutes', 'product', 'remark', 'outcome']
  const rows = workRows(context).map((row) => [row.when, row.job, row.place, row.finding, row.minutes, row.product, row.remark, row.outcome])
  return html`<h3>${reportText('done.title', language)}</h3>${table(header.map((key) => reportText(key, language)), rows, reportText('done.none', language))}`
}

export function roundsSection(context: ReportContext): Html {
  const { book, language, fromMs, untilMs } = context
  const rounds = factsOf(book, 'round').filter(({ timeMs }) => timeMs >= fromMs && timeMs <= untilMs)
  const exceptions = rounds.flatMap((round) => round.exceptions.map((exception) => ({ round, exception })))
  const words = rounds.length === 0 ? reportText('rounds.none', language) : reportText('rounds.count', language, { rounds: String(rounds.length), items: String(rounds.reduce((sum, { items }) => sum + items.length, 0)), exceptions: String(exceptions.length) })
  return html`<h3>${reportText('rounds.title', language)}</h3><p>${words}</p>${exceptions.length === 0 ? undefined : html`<ul>${exceptions.map(({ round, exception }) => html`<li>${timeText(round.timeMs, language, context.timeZone)} · ${exceptionText(exception, book.definition, language)}</li>`)}</ul>`}`
}

/** An exception of a round in the round's own words; a check that is no longer in the catalogue keeps its id. */
function exceptionText(exception: RoundFact['exceptions'][number], definition: LineDefinition, language: Language): string {
  const place = exception.zone === undefined ? '' : ` (${placeText({ section: 'preheat', zone: exception.zone }, language)})`
  if (roundCheck(definition, exception.check) === undefined) return `${exception.check}${place}`
  return `${roundCheckWords(definition, exception.check, language).title}${place}: ${roundReasonWords(definition, exception.check, exception.reason, exception.values, language)}`
}

export function changesSection(context: ReportContext): Html {
  const { language } = context
  const changes = changeTexts(context)
  return html`<h3>${reportText('changes.title', language)}</h3>${changes.length === 0 ? html`<p class="soft">${reportText('changes.none', language)}</p>` : html`<ul>${changes.map((text) => html`<li>${text}</li>`)}</ul>`}`
}

export function stopsSection(context: ReportContext): Html {
  const { language } = context
  const header: readonly ReportWord[] = ['when', 'job', 'minutes', 'people', 'answer', 'followed']
  return html`<h3>${reportText('stops.title', language)}</h3>${table(header.map((key) => reportText(key, language)), stopRows(context).map((row) => [row.asked, row.work, row.minutes, row.people, row.answer, row.followed]), reportText('stops.none', language))}`
}

export function startUpsSection({ book, language, timeZone, fromMs, untilMs }: ReportContext): Html | undefined {
  const starts = factsOf(book, 'start-up').filter(({ timeMs }) => timeMs >= fromMs && timeMs <= untilMs)
  if (starts.length === 0) return undefined
  const minutes = (seconds: number): string => amountText(seconds / 60, language)
  return html`<h3>${reportText('start-ups.title', language)}</h3><ul>${starts.map((start) => html`<li>${timeText(start.timeMs, language, timeZone)} · ${start.parts
    .map(({ part, actualS, expectedS, upperS }) => {
      const slow = upperS !== undefined && actualS > upperS
      const values = { part: partText(part, language), actual: minutes(actualS), ...(expectedS === undefined ? {} : { expected: minutes(expectedS) }) }
      return reportText(expectedS === undefined ? 'start-up.part' : slow ? 'start-up.slow' : 'start-up.expected', language, values)
    })
    .join('; ')}</li>`)}</ul>`
}

/** `zone-2` and the like as people say it. */
function partText(part: string, language: Language): string {
  const zone = /zone-(\d+)/.exec(part)?.[1]
  if (zone !== undefined) return placeText({ section: 'preheat', zone: Number(zone) }, language)
  return part === 'pot' ? SECTION_TITLES.pot[language] : part.replaceAll('-', ' ')
}

export function intervalsSection({ book, language }: ReportContext): Html {
  const header: readonly ReportWord[] = ['job', 'place', 'interval', 'used', 'verdict']
  const rows = [...factsOf(book, 'interval')].sort((a, b) => b.used - a.used || (a.id < b.id ? -1 : 1)).map((fact) => [workTitle(fact.work, language, book.definition), placeText(fact, language), amountWords(fact.interval, fact.scale, language), `${Math.round(fact.used * 100)} %`, reportTextOf(`verdict.${fact.verdict}`, language)])
  return html`<h3>${reportText('intervals.title', language)}</h3>${table(header.map((key) => reportText(key, language)), rows, reportText('intervals.none', language))}`
}

export function unseenSection({ book, language }: ReportContext): Html {
  return html`<h3>${reportText('unseen.title', language)}</h3><p class="unseen">${invisibleText(invisibleFaults(book.definition), language)}</p>`
}

export function papersSection(context: ReportContext): Html {
  const { language } = context
  const header: readonly ReportWord[] = ['what', 'paper.of', 'paper.reference', 'paper.from', 'paper.due', 'paper.state']
  const rows = paperRows(context).map((row) => [row.paper, row.of, row.reference, row.from, row.due, row.overdue ? html`<strong class="act">${row.state}</strong>` : row.state])
  return html`<h3>${reportText('papers.title', language)}</h3>${table(header.map((key) => reportText(key, language)), rows, reportText('papers.none', language))}${paperGaps(context).map((gap) => html`<p class="act">${gap}</p>`)}`
}

export function planSection(plan: WeekPlan, titles: ReadonlyMap<string, string>, language: Language): Html {
  const header: readonly ReportWord[] = ['when', 'line', 'minutes', 'people', 'job']
  const rows = plan.stops.map((stop) => [
    timeText(stop.fromMs, language, plan.timeZone),
    titles.get(stop.line) ?? stop.line,
    Math.round((stop.untilMs - stop.fromMs) / 60_000),
    stop.people,
    `${stop.jobs.map(({ item }) => `${itemTitle(item, language)}${item.zone === undefined ? '' : ` (${placeText(item, language)})`}`).join(', ')} · ${reportText(stop.agreed ? 'plan.agreed' : 'plan.proposed', language)}`,
  ])
  const without = [...plan.now, ...plan.unplanned].map(({ item, reason }) => html`<li>${titles.get(item.line) ?? item.line}: ${itemTitle(item, language)} (${placeText(item, language)}) · ${planReasonText(reason, language, plan.timeZone)}</li>`)
  return html`<section><h2>${reportText('plan.title', language, { week: plan.week })}</h2>${table(header.map((key) => reportText(key, language)), rows, reportText('plan.none', language))}${without.length === 0 ? undefined : html`<h3>${reportText('plan.without', language)}</h3><ul>${without}</ul>`}</section>`
}

export function costSection(costs: CostTable, titles: ReadonlyMap<string, string>, language: Language): Html {
  const header: readonly ReportWord[] = ['month', 'line', 'place', 'what', 'quantity', 'cost']
  const rows = costs.rows.map((row) => [row.month, titles.get(row.line) ?? row.line, SECTION_TITLES[row.section][language], COST_KIND_TITLES[row.kind][language], amountText(row.quantity, language), costText(row.cost, costs.currency, language)])
  return html`<section><h2>${reportText('cost.title', language)}</h2>${table(header.map((key) => reportText(key, language)), rows, reportText('cost.none', language))}${costs.rows.length === 0 ? undefined : html`<p><strong>${reportText('cost.total', language)}: ${moneyText(costs.total, costs.currency, language)}</strong></p>`}${costs.missing.length === 0 ? undefined : html`<p>${reportText('cost.missing', language, { figures: costs.missing.join(', ') })}</p>`}</section>`
}
