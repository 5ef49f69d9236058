import type { FeatureSummary, LineSummary, PointView, RuleHitView } from './api-types.js'
import { ruleWords } from './chart-marks.js'
import { chartsText, type ChartsKey } from './charts-texts.js'
import { numberText, shownValue, timeText, type ShownUnit } from './format.js'
import { text, type Language } from './texts.js'

interface PointPanelProps {
  readonly point: PointView
  readonly feature: FeatureSummary
  readonly line: LineSummary
  readonly shown: ShownUnit
  readonly hits: readonly RuleHitView[]
  readonly language: Language
  readonly onClose: () => void
}

/** What stands behind one point: its window, its value, its limits, and what the line did. */
export function PointPanel({ point, feature, line, shown, hits, language, onClose }: PointPanelProps) {
  const say = (key: ChartsKey, values?: Readonly<Record<string, string | number>>): string => chartsText(language, key, values)
  const value = (number: number): string => `${numberText(shownValue(number, shown), language)} ${shown.unit}`
  const begin = new Date(Date.parse(point.time) - feature.windowS * 1000).toISOString()
  const here = hits.filter((hit) => hit.points.includes(point.time))
  const rows: readonly (readonly [string, string])[] = [
    [say('point.value'), value(point.value)],
    ...(point.statistic === point.value ? [] : [[say('point.statistic'), value(point.statistic)] as const]),
    [say('point.centre'), value(point.centre)],
    [say('point.limits'), `${value(point.lower)} … ${value(point.upper)}`],
    ...(point.sigma > 0 ? [[say('point.sigmas'), say('point.sigmas-value', { n: numberText((point.statistic - point.centre) / point.sigma, language) })] as const] : []),
    [say('point.n'), `${say('point.n-values', { n: Math.floor(point.n) })}, ${say(point.baseline === 'accepted' ? 'lane.accepted' : point.baseline === 'provisional' ? 'lane.provisional' : 'lane.self-starting')}`],
    ...(point.recipe === '' ? [] : [[say('point.recipe'), point.recipe] as const]),
    [say('point.state'), text(language, `state.${point.state}`)],
    [say('point.hits'), here.length === 0 ? say('point.no-hits') : here.map((hit) => ruleWords(language, hit.rule, hit.side)).join('; ')],
  ]
  return (
    <section class="point-panel" aria-label={say('point.title')}>
      <h5>{say('point.window', { from: timeText(begin, language, line.timeZone), to: timeText(point.time, language, line.timeZone) })}</h5>
      <dl class="facts">
        {rows.map(([term, words]) => (
          <div key={term}>
            <dt>{term}</dt>
            <dd>{words}</dd>
          </div>
        ))}
      </dl>
      <p class="soft">{say('point.readings')}</p>
      <button type="button" onClick={onClose}>
        {say('point.close')}
      </button>
    </section>
  )
}
