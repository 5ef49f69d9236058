import { catalogueIsolation } from './stop-request-steps.js'
import type { InLanguages, Language } from '../catalogue-language.js'
import { cautionText } from '../catalogue-texts.js'
import type { CostAmount } from '../cost/cost-table.js'
import { html, type Html } from '../report/html.js'
import { printablePage } from '../report/printable-page.js'
import { amountText, costText, featureName, timeText } from '../report/report-format.js'
import { dateText, fill } from '../wording-format.js'
import { CAUTION_IDS } from '../work-catalogue-data-facts.js'
import { siteCatalogue } from '../site-catalogue.js'
import { chancesByHistory, costOfWaiting } from './cost-of-waiting.js'
import type { LineBook } from './line-book.js'
import { itemTitle, placeText, planReasonText } from './plan-words.js'
import { STOCK_TITLES } from './stock-titles.js'
import type { PlannedStop } from './week-plan.js'

const WORDS = {
  title: { 'en-US': 'Request for a stop', es: 'Solicitud de parada' },
  asks: { 'en-US': 'Maintenance asks for {minutes} minutes of {line}, {from} to {until} ({zone}), in the shift "{shift}".', es: 'Mantenimiento solicita {minutes} minutos de {line}, de {from} a {until} ({zone}), en el turno «{shift}».' },
  'no-production': { 'en-US': 'No boards are made in this shift.', es: 'En este turno no se hacen placas.' },
  part: { 'en-US': 'Part {number} of {of}: the line stands in between and must not run.', es: 'Parte {number} de {of}: entre medias la línea está parada y no debe funcionar.' },
  'set-up': { 'en-US': 'Of these: isolating {isolation}, cooling {cooling}, back into service {back}, warming up {warm} minutes; they count once for all the jobs.', es: 'De ellos: aislar {isolation}, enfriar {cooling}, volver al servicio {back}, calentar {warm} minutos; cuentan una sola vez para todos los trabajos.' },
  people: { 'en-US': 'People: {people} at once; the shift has {shift}.', es: 'Personas: {people} a la vez; el turno tiene {shift}.' },
  jobs: { 'en-US': 'Jobs', es: 'Trabajos' },
  job: { 'en-US': '{job} ({place}): {low} to {planned} min, {people} people', es: '{job} ({place}): de {low} a {planned} min, {people} personas' },
  'job-alone': { 'en-US': '{job} ({place}): {low} to {planned} min, 1 person', es: '{job} ({place}): de {low} a {planned} min, 1 persona' },
  electrician: { 'en-US': 'for a licensed electrician', es: 'para un electricista autorizado' },
  parts: { 'en-US': 'Parts and sets', es: 'Piezas y juegos' },
  'parts-none': { 'en-US': 'None from stock.', es: 'Nada del almacén.' },
  'part-ready': { 'en-US': '{part}: {count} ready', es: '{part}: {count} disponibles' },
  'part-unknown': { 'en-US': '{part}: nobody has counted', es: '{part}: nadie lo ha contado' },
  isolation: { 'en-US': 'Isolation before the work', es: 'Aislamiento antes del trabajo' },
  cautions: { 'en-US': 'Cautions', es: 'Precauciones' },
  waiting: { 'en-US': 'Cost of waiting', es: 'Coste de esperar' },
  chance: { 'en-US': '{feature} moves towards its limit. Chance that it reaches it before {date}: {chance}. Expected cost of waiting until then: {cost}.', es: '{feature} se acerca a su límite. Probabilidad de que lo alcance antes del {date}: {chance}. Coste esperado de esperar hasta entonces: {cost}.' },
  'by-history': { 'en-US': '{job} ({place}): by its history on this line the chance that it is found due before {date} is {chance}.', es: '{job} ({place}): según su historial en esta línea, la probabilidad de que se encuentre vencido antes del {date} es {chance}.' },
  'no-drift': { 'en-US': 'Nothing measured here drifts towards a limit with a date, so no cost of waiting can be given. What no sensor sees is not cheaper for that.', es: 'Nada de lo medido aquí se acerca a un límite con fecha, así que no se puede dar un coste de esperar. Lo que ningún sensor ve no es por eso más barato.' },
  assumption: { 'en-US': 'Assumed: the next chance to stop is a week later, reaching the limit means one unplanned stop of the usual length with the site’s usual damage where it is known, and the dates of the drift are right nine times in ten. One failure: {failure}. This stop, as planned: {planned}.', es: 'Supuesto: la próxima ocasión es una semana después, alcanzar el límite significa una parada imprevista de duración normal con el daño habitual de la planta donde se conoce, y las fechas de la deriva aciertan nueve veces de cada diez. Un fallo: {failure}. Esta parada, según lo previsto: {planned}.' },
  why: { 'en-US': 'Why', es: 'Por qué' },
  answer: { 'en-US': 'Answer', es: 'Respuesta' },
  granted: { 'en-US': 'granted / refused, because', es: 'concedida / denegada, porque' },
  instead: { 'en-US': 'instead on', es: 'en su lugar el' },
  signed: { 'en-US': 'production', es: 'producción' },
} as const satisfies Readonly<Record<string, InLanguages<string>>>

/**
 * One printable page that asks production for a stop: minutes, people, parts, isolation, cautions, and the cost of
 * waiting with what it assumes. It asks; it stops nothing.
 */
export function stopRequestHtml(stop: PlannedStop, book: LineBook, language: Language): string {
  const { definition } = book
  const say = (key: keyof typeof WORDS, values: Readonly<Record<string, string>> = {}): string => fill(WORDS[key][language], values)
  const number = (value: number): string => amountText(value, language)
  const line = definition.title ?? definition.line
  const { setUp } = stop
  const parts = stop.jobs.flatMap(({ item }) => item.parts)
  const catalogue = siteCatalogue(definition)
  const cautions = CAUTION_IDS.filter((id) => ['other-rules-win', 'advice-only'].includes(id) || stop.jobs.some(({ item }) => catalogue.item(item.work)?.cautions.includes(id) === true || (id === 'licensed-electrician' && item.needsElectrician)))
  const because = [...new Set(stop.jobs.flatMap(({ item }) => item.because.map((reason) => `${itemTitle(item, language)}: ${planReasonText(reason, language, definition.timeZone)}`)))]
  const body = html`<header><h1>${say('title')}: ${line}</h1>
<p><strong>${say('asks', { minutes: number(Math.round((stop.untilMs - stop.fromMs) / 60_000)), line, from: timeText(stop.fromMs, language, definition.timeZone), until: timeText(stop.untilMs, language, definition.timeZone), zone: definition.timeZone, shift: stop.shift })}</strong>${stop.production ? undefined : ` ${say('no-production')}`}</p>
${stop.part === undefined ? undefined : html`<p class="act">${say('part', { number: String(stop.part.number), of: String(stop.part.of) })}</p>`}
<p>${say('set-up', { isolation: number(setUp.isolation), cooling: number(setUp.coolDown), back: number(setUp.back), warm: number(setUp.warmUp) })} ${say('people', { people: String(stop.people), shift: String(stop.peopleOnShift) })}</p></header>
<h2>${say('jobs')}</h2><ul>${stop.jobs.map(({ item }) => html`<li>${say(item.people === 1 ? 'job-alone' : 'job', { job: itemTitle(item, language), place: placeText(item, language), low: number(item.minutes.low), planned: number(item.minutes.planned), people: String(item.people) })}${item.needsElectrician ? html` <strong>(${say('electrician')})</strong>` : undefined}</li>`)}</ul>
<h2>${say('why')}</h2><ul>${because.map((text) => html`<li>${text}</li>`)}</ul>
<h2>${say('parts')}</h2>${parts.length === 0 ? html`<p>${say('parts-none')}</p>` : html`<ul>${parts.map(({ item, ready }) => html`<li>${ready === undefined ? say('part-unknown', { part: STOCK_TITLES[item][language] }) : say('part-ready', { part: STOCK_TITLES[item][language], count: String(ready) })}</li>`)}</ul>`}
<h2>${say('waiting')}</h2>${waitingText(stop, book, language, say)}
<h2>${say('isolation')}</h2><ol>${catalogueIsolation(stop, definition, language).map((step) => html`<li>${step}</li>`)}</ol>
<h2>${say('cautions')}</h2><ul>${cautions.map((id) => html`<li>${cautionText(id, language)}</li>`)}</ul>
<h2>${say('answer')}</h2><div class="sign"><span>${say('granted')}</span><span>${say('instead')}</span><span>${say('signed')}</span></div>`
  return printablePage(`${say('title')}: ${line}`, body, language)
}

function waitingText(stop: PlannedStop, book: LineBook, language: Language, say: (key: keyof typeof WORDS, values?: Readonly<Record<string, string>>) => string): Html {
  const waiting = costOfWaiting(stop, book)
  const currency = book.definition.costs?.currency ?? 'EUR'
  const money = (cost: CostAmount): string => costText(cost, currency, language)
  const percent = (chance: number): string => new Intl.NumberFormat(language, { style: 'percent', maximumFractionDigits: 0 }).format(chance)
  const date = dateText(waiting.untilMs, language, book.definition.timeZone)
  const byHistory = chancesByHistory(stop, book)
  const history = byHistory.length === 0 ? undefined : html`<ul>${byHistory.map(({ item, chance }) => html`<li>${say('by-history', { job: itemTitle(item, language), place: placeText(item, language), date, chance: percent(chance) })}</li>`)}</ul>`
  if (waiting.drift === undefined) return html`${history}<p>${say('no-drift')}</p>`
  return html`${history}<p class="box">${say('chance', { feature: featureName(waiting.drift.feature, language), date, chance: percent(waiting.drift.chance), cost: money(waiting.expected) })}</p><p class="soft">${say('assumption', { failure: money(waiting.failure), planned: money(waiting.planned) })}</p>`
}
