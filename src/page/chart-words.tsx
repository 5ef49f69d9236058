import type { LineSummary, RuleEndView, RuleHitView, SignalView } from './api-types.js'
import { ruleWords } from './chart-marks.js'
import type { DriftView, EffortView, InsightView } from './charts-client.js'
import { chartsText, type ChartsKey } from './charts-texts.js'
import { numberText, shownValue, timeText, type ShownUnit } from './format.js'
import { text, type Language } from './texts.js'

interface WordsProps {
  readonly language: Language
  readonly line: LineSummary
}

/** The newest signals, each as a sentence. */
export function SignalWords({ signals, language, line }: WordsProps & { readonly signals: readonly SignalView[] }) {
  const starts = signals.filter(({ phase }) => phase === 'start').slice(-3).reverse()
  if (starts.length === 0) return null
  const when = (iso: string): string => timeText(iso, language, line.timeZone)
  return (
    <ul class="plain signals">
      {starts.map((start) => {
        const end = signals.find((signal) => signal.phase === 'end' && signal.time > start.time && signal.side === start.side && signal.recipe === start.recipe)
        const values = { side: text(language, `side.${start.side}`), time: when(start.time), onset: when(start.onset) }
        return <li key={`${start.time} ${start.recipe} ${start.chart}`}>{end === undefined ? chartsText(language, 'signal.now', values) : chartsText(language, 'signal.past', { ...values, end: when(end.time) })}{start.recipe === 'all' || start.recipe === '' ? '' : ` (${start.recipe})`}</li>
      })}
    </ul>
  )
}

/** How a feature moves, and what result and effort say together: only what stands. */
export function InsightWords({ insights, feature, shown, language, line }: WordsProps & { readonly insights: readonly InsightView[]; readonly feature: string; readonly shown: ShownUnit }) {
  const drifts = insights.filter((insight): insight is DriftView => insight.type === 'drift' && insight.feature === feature && insight.phase !== 'end')
  const efforts = insights.filter((insight): insight is EffortView => insight.type === 'effort' && (insight.feature === feature || insight.effortFeature === feature) && insight.verdict !== 'in-order')
  const effort = efforts.sort((a, b) => a.time.localeCompare(b.time)).at(-1)
  const drift = drifts.sort((a, b) => a.time.localeCompare(b.time)).at(-1)
  if (effort === undefined && drift === undefined) return null
  return (
    <div class="insight">
      {drift !== undefined && <p>{driftWords(drift, shown, language, line.timeZone)}</p>}
      {effort !== undefined && (
        <p>
          {chartsText(language, `effort.${effort.verdict}` as ChartsKey)}
          {effort.effectLossShare !== undefined && effort.effectLossShare > 0.01 && ` ${chartsText(language, 'effort.loss', { n: Math.round(effort.effectLossShare * 100) })}`}
        </p>
      )}
    </div>
  )
}

function driftWords(drift: DriftView, shown: ShownUnit, language: Language, timeZone: string): string {
  const when = (iso: string): string => timeText(iso, language, timeZone)
  const unit = shown.unit === '' ? '' : ` ${shown.unit}`
  const slope = (value: number): string => `${numberText(value * shown.factor, language)}${unit}`
  const limit = drift.limit === undefined ? '' : `${numberText(shownValue(drift.limit, shown), language)}${unit}`
  const recipe = drift.recipe === 'all' || drift.recipe === '' ? '' : ` (${drift.recipe})`
  const sentences = [chartsText(language, 'drift.when', { shape: chartsText(language, `drift.${drift.shape}`), onset: when(drift.onset), from: when(drift.onsetFrom), to: when(drift.onsetTo) })]
  const { slopePerDay, slopePerDayLower: lower, slopePerDayUpper: upper, due, noDate } = drift
  if (slopePerDay !== undefined && lower !== undefined && upper !== undefined && drift.shape !== 'spread') sentences.push(chartsText(language, 'drift.slope', { slope: slope(slopePerDay), lower: slope(lower), upper: slope(upper) }))
  if (due !== undefined) sentences.push(chartsText(language, 'drift.due', { limit, earliest: when(due[0]), likely: when(due[1]), latest: when(due[2]) }))
  else if (noDate !== undefined) sentences.push(chartsText(language, `drift.${noDate}` as ChartsKey, { limit }))
  return sentences.join(' ') + recipe
}

/** Rule hits as sentences with begin and end, for those who do not look at brackets. */
export function RuleWords({ hits, ends, language, line }: WordsProps & { readonly hits: readonly RuleHitView[]; readonly ends: readonly RuleEndView[] }) {
  const when = (iso: string): string => timeText(iso, language, line.timeZone)
  const span = (hit: RuleHitView): string => {
    const end = ends.find(({ time, chart, recipe, rule, side }) => time > hit.time && chart === hit.chart && recipe === hit.recipe && rule === hit.rule && side === hit.side)
    return end === undefined ? chartsText(language, 'rules.since', { time: when(hit.time) }) : chartsText(language, 'rules.from-to', { time: when(hit.time), end: when(end.time) })
  }
  return (
    <details>
      <summary>
        {chartsText(language, 'rules.in-words')}: {hits.length}
      </summary>
      {hits.length === 0 ? (
        <p class="soft">{chartsText(language, 'rules.none')}</p>
      ) : (
        <ul class="plain">
          {hits
            .slice(-20)
            .reverse()
            .map((hit) => (
              <li key={`${hit.time} ${hit.rule} ${hit.side}`}>
                {span(hit)}: {ruleWords(language, hit.rule, hit.side)}
              </li>
            ))}
        </ul>
      )}
    </details>
  )
}
