import { useMemo, useRef, useState } from 'preact/hooks'
import { api } from './api-client.js'
import type { LineSummary, PointView } from './api-types.js'
import { baselineText } from './baseline-texts.js'
import { baselineWords } from './baseline-words.js'
import { useNear } from './chart-hooks.js'
import { chartsApi, type BaselineView } from './charts-client.js'
import { ControlChartPlot } from './control-chart-plot.js'
import { numberText, roundText, shownUnit, shownValue, type ShownUnit, type UnitChoice } from './format.js'
import { useAnswer } from './page-state.js'
import { text, type Language } from './texts.js'

interface BaselineCardProps {
  readonly line: LineSummary
  readonly baseline: BaselineView
  readonly units: UnitChoice
  readonly language: Language
  readonly onDecided: () => void
}

const NOTHING: readonly never[] = []
/** Values of a picture, a third more than a baseline wants at most. */
const PICTURE_POINTS = 400

/** One baseline: how far it is, what it proposes, why it is provisional or refused, what it costs, and the engineer's word. */
export function BaselineCard({ line, baseline, units, language, onDecided }: BaselineCardProps) {
  const card = useRef<HTMLElement>(null)
  const near = useNear(card)
  const { title, recipe, n, target, status, reason, cost, provisionalBecause } = baseline
  const shown = shownUnit(baseline.unit, units, baseline.difference, language)
  const share = target > 0 ? Math.min(1, n / target) : 0
  const number = (value: number): string => roundText(value, language)
  const { threeSigma, fourRules } = cost.textbook
  return (
    <article class={`card baseline-card ${provisionalBecause === undefined ? '' : 'provisional'}`} data-baseline={`${baseline.feature} ${recipe}`} ref={card}>
      <h5>
        {title} <span class="soft">({recipe === 'all' ? baselineText(language, 'all-recipes') : baselineText(language, 'recipe', { recipe })})</span>
      </h5>
      <p>
        {baselineWords(language, baseline)}
        {status !== 'accepted' && (
          <>
            {' '}
            <span class="progress" role="img" aria-label={baselineText(language, 'progress', { n: Math.floor(n), target })}>
              <i style={{ width: `${share * 100}%` }} />
            </span>
          </>
        )}
      </p>
      {reason !== undefined && <p>{baselineText(language, 'why', { reason: text(language, reason) })}</p>}
      {baseline.sigma > 0 && <p>{proposalWords(baseline, shown, language)}</p>}
      {baseline.standsGiven && <p class="soft">{baselineText(language, 'stands-given')}</p>}
      {baseline.signal && status !== 'accepted' && <p class="act">{baselineText(language, 'signal')}</p>}
      {provisionalBecause !== undefined && (
        <p class="soft">
          {baselineText(language, `provisional.${provisionalBecause.reason}`)}
          {provisionalBecause.missing.length > 0 && ` ${baselineText(language, 'provisional.missing', { works: provisionalBecause.missing.join(', ') })}`}
        </p>
      )}
      <p>{baselineText(language, 'cost', { weeks: number(1 / cost.falsePerWeek), delay: number(cost.delayPoints) })}</p>
      <p class="soft">{baselineText(language, 'cost.beside', { threeFalse: number(threeSigma.falsePerWeek), threeDelay: number(threeSigma.delayPoints), fourFalse: number(fourRules.falsePerWeek), fourDelay: number(fourRules.delayPoints) })}</p>
      {near ? <BaselinePicture line={line} baseline={baseline} shown={shown} language={language} /> : <div class="plot-waiting" />}
      <DecisionForm line={line} baseline={baseline} language={language} onDecided={onDecided} />
    </article>
  )
}

function proposalWords({ centre, sigma, limits }: BaselineView, shown: ShownUnit, language: Language): string {
  const unit = shown.unit === '' ? '' : ` ${shown.unit}`
  const value = (number: number): string => `${numberText(shownValue(number, shown), language)}${unit}`
  const spread = (number: number): string => `${numberText(number * shown.factor, language)}${unit}`
  if (limits === undefined) return baselineText(language, 'proposal.no-limits', { centre: value(centre), sigma: spread(sigma) })
  if (limits.chart === 'residual') return baselineText(language, 'proposal.residual', { centre: value(centre), sigma: spread(sigma), upper: spread(limits.upper) })
  return baselineText(language, 'proposal', { centre: value(centre), sigma: spread(sigma), lower: value(limits.lower), upper: value(limits.upper) })
}

/** The values up to the proposal with the centre and the limits it led to. */
function BaselinePicture({ line, baseline, shown, language }: { readonly line: LineSummary; readonly baseline: BaselineView; readonly shown: ShownUnit; readonly language: Language }) {
  const { feature, recipe, centre, limits, time } = baseline
  const { answer } = useAnswer(async () => (limits === undefined ? chartsApi.valuePoints(line.line, feature) : chartsApi.points(line.line, feature, limits.chart, 1500)), [line.line, feature, time])
  const points = useMemo(() => {
    const of = (answer ?? NOTHING).filter((point) => recipe === 'all' || point.recipe === recipe)
    const until = of.filter((point) => point.time <= time)
    return (until.length >= 2 ? until : of).slice(-PICTURE_POINTS).map((point): PointView => (limits === undefined || limits.chart === 'residual' ? point : { ...point, centre, lower: limits.lower, upper: limits.upper }))
  }, [answer, time])
  if (points.length < 2) return null
  return <ControlChartPlot points={points} signals={NOTHING} ruleHits={NOTHING} shown={shown} timeZone={line.timeZone} language={language} label={baselineText(language, 'picture')} height={160} syncKey={`baseline ${feature} ${recipe}`} squares={baseline.hand === true} />
}

/** Accept, reject or learn again, with name and reason; the decision is kept in the line's journal. */
function DecisionForm({ line, baseline, language, onDecided }: Pick<BaselineCardProps, 'line' | 'baseline' | 'language' | 'onDecided'>) {
  const [by, setBy] = useState('')
  const [reason, setReason] = useState('')
  const [outcome, setOutcome] = useState('')
  const [refused, setRefused] = useState(false)
  const { feature, recipe, status } = baseline
  const decide = (decision: 'accept' | 'reject' | 'refit'): void => {
    const words = { ...(by.trim() === '' ? {} : { by: by.trim() }), ...(reason.trim() === '' ? {} : { reason: reason.trim() }) }
    api.decideBaseline(line.line, { feature, recipe, decision, ...words }).then(
      () => {
        setRefused(false)
        setOutcome(baselineText(language, 'said'))
        onDecided()
      },
      (error: unknown) => {
        setRefused(true)
        setOutcome(`${baselineText(language, 'failed')}: ${error instanceof Error ? error.message : String(error)}`)
      },
    )
  }
  return (
    <div class="baseline-form no-print">
      <label>
        {baselineText(language, 'by')} <input type="text" maxLength={80} value={by} onInput={(event) => setBy(event.currentTarget.value)} />
      </label>
      <label>
        {baselineText(language, 'reason')} <input type="text" maxLength={500} value={reason} onInput={(event) => setReason(event.currentTarget.value)} />
      </label>
      {status === 'provisional' && (
        <button type="button" class="main" onClick={() => decide('accept')}>
          {baselineText(language, 'accept')}
        </button>
      )}
      <button type="button" title={baselineText(language, 'reject.help')} onClick={() => decide('reject')}>
        {baselineText(language, 'reject')}
      </button>
      <button type="button" title={baselineText(language, 'reject.help')} onClick={() => decide('refit')}>
        {baselineText(language, 'refit')}
      </button>
      <span role={refused ? 'alert' : 'status'} class={refused ? 'act' : 'soft'}>
        {outcome}
      </span>
    </div>
  )
}
