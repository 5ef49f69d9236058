import type { Language } from '../catalogue-language.js'
import { chartSvg } from './chart-svg.js'
import { html, type Html } from './html.js'
import { printablePage } from './printable-page.js'
import { timeText } from './report-format.js'
import type { ReportInput, ReportLine } from './report-input.js'
import { contextOf, type ReportContext } from './report-rows.js'
import { changesSection, costSection, doneSection, firstSection, intervalsSection, openSection, papersSection, planSection, roundsSection, startUpsSection, stopsSection, titleOf, unseenSection } from './report-sections.js'
import { reportText } from './report-words.js'

/**
 * A report as one printable page, for A4 and Letter: the hand-over of a shift, the weekly meeting, or the evidence for an
 * audit. It holds no script, fetches nothing, and escapes every text; names of people are left out.
 *
 * @param input everything the report is made of; the same input gives the same bytes
 */
export function reportHtml(input: ReportInput, language: Language): string {
  const { kind, site, fromMs, untilMs, timeZone, lines, plan, costs } = input
  const contexts = lines.map(({ book }) => contextOf(book, input, language))
  const titles = new Map(contexts.map((context) => [context.book.definition.line, titleOf(context)]))
  const title = [site, reportText(`title.${kind}`, language)].filter((part) => part !== undefined).join(' · ')
  const body = html`<header><h1>${title}</h1>
<p>${reportText('period', language, { from: timeText(fromMs, language, timeZone), until: timeText(untilMs, language, timeZone), zone: timeZone })} <span class="soft">${reportText('names', language)}</span></p></header>
${firstSection(contexts, language)}
${lines.map((line, index) => lineSection(line, contexts[index]!, input))}
${plan === undefined ? undefined : planSection(plan, titles, language)}
${costs === undefined ? undefined : costSection(costs, titles, language)}`
  return printablePage(title, body, language)
}

function lineSection({ book, charts }: ReportLine, context: ReportContext, { kind }: ReportInput): Html {
  const { language, timeZone } = context
  const isAudit = kind === 'audit'
  const title = titleOf(context)
  const simulated = reportText('simulated', language)
  return html`<section><h2>${title}${book.definition.simulated && !title.includes(`(${simulated})`) ? ` (${simulated})` : ''}</h2>
${openSection(context)}
${doneSection(context)}
${roundsSection(context)}
${changesSection(context)}
${kind === 'hand-over' ? undefined : stopsSection(context)}
${startUpsSection(context)}
${kind === 'hand-over' ? undefined : intervalsSection(context)}
${isAudit ? papersSection(context) : undefined}
${unseenSection(context)}
${charts.length === 0 && !isAudit ? undefined : html`<h3>${reportText('charts.title', language)}</h3>${charts.length === 0 ? html`<p class="soft">${reportText('charts.none', language)}</p>` : charts.map((chart) => chartSvg(chart, language, timeZone))}`}
</section>`
}
