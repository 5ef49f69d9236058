import type { Language } from '../catalogue-language.js'
import { html, type Html } from './html.js'
import { dayText, featureName, timeText } from './report-format.js'
import type { ReportChart } from './report-input.js'
import { reportText } from './report-words.js'

const WIDTH = 640
const HEIGHT = 170
const LEFT = 8
const RIGHT = 64
const TOP = 12
const BOTTOM = 24
/** Points drawn at most: more than two a pixel say nothing to the eye. */
const POINTS_MAX = 600

/** A chart as inline SVG: line and points in ink, centre and limits of their time, signals as upright ticks; no script. */
export function chartSvg(chart: ReportChart, language: Language, timeZone: string): Html {
  const name = featureName(chart.feature, language)
  const points = thinned(chart.points.filter(({ value }) => Number.isFinite(value)))
  const label = reportText('chart.label', language, { name, unit: chart.unit, count: String(chart.points.length), signals: String(chart.signals.length) })
  if (points.length === 0) return html`<figure><figcaption>${label}</figcaption></figure>`
  const first = points[0]!
  const last = points.at(-1)!
  const numbers = points.flatMap(({ value, lower, upper, centre }) => [value, lower, upper, centre].filter(Number.isFinite))
  const [least, most] = [Math.min(...numbers), Math.max(...numbers)]
  const margin = (most - least) * 0.05 || Math.abs(most) * 0.05 || 1
  const x = (timeMs: number): string => (LEFT + ((timeMs - first.timeMs) / Math.max(1, last.timeMs - first.timeMs)) * (WIDTH - LEFT - RIGHT)).toFixed(1)
  const y = (value: number): string => (TOP + ((most + margin - value) / (most - least + 2 * margin)) * (HEIGHT - TOP - BOTTOM)).toFixed(1)
  const row = (pick: 'value' | 'centre' | 'lower' | 'upper'): string =>
    points.filter((point) => Number.isFinite(point[pick])).map((point) => `${x(point.timeMs)},${y(point[pick])}`).join(' ')
  const signals = chart.signals.filter(({ timeMs }) => timeMs >= first.timeMs && timeMs <= last.timeMs)
  // Within one day both ends would read the same.
  const timeLabel = dayText(first.timeMs, language, timeZone) === dayText(last.timeMs, language, timeZone) ? (timeMs: number) => timeText(timeMs, language, timeZone) : (timeMs: number) => dayText(timeMs, language, timeZone)
  return html`<figure><figcaption>${label}</figcaption>
<svg viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img" aria-label="${label}">
${signals.map(({ timeMs }) => html`<line class="signal" x1="${x(timeMs)}" x2="${x(timeMs)}" y1="${TOP}" y2="${HEIGHT - BOTTOM}"/>`)}
<polyline class="limit" points="${row('upper')}"/><polyline class="limit" points="${row('lower')}"/><polyline class="centre" points="${row('centre')}"/>
${unbroken(points).map((run) => html`<polyline class="data" points="${run.map((point) => `${x(point.timeMs)},${y(point.value)}`).join(' ')}"/>`)}
${points.length <= 150 ? points.map(({ timeMs, value }) => html`<circle cx="${x(timeMs)}" cy="${y(value)}" r="1.8"/>`) : undefined}
${[last.upper, last.lower, last.centre].map((value) => limitLabel(value, most - least, y, language))}
<text x="${LEFT}" y="${HEIGHT - 6}">${timeLabel(first.timeMs)}</text><text x="${WIDTH - RIGHT}" y="${HEIGHT - 6}" text-anchor="end">${timeLabel(last.timeMs)}</text>
</svg></figure>`
}

/** With the decimals that tell values of this span apart: limits at ±0.005 are not "0" and "-0". */
function limitLabel(value: number, span: number, y: (value: number) => string, language: Language): Html | undefined {
  if (!Number.isFinite(value)) return undefined
  const decimals = span > 0 ? Math.min(12, Math.max(0, 1 - Math.floor(Math.log10(span)))) : 2
  const text = new Intl.NumberFormat(language, { maximumFractionDigits: decimals, signDisplay: 'negative' }).format(value)
  return html`<text x="${WIDTH - RIGHT + 4}" y="${y(value)}">${text}</text>`
}

/** A pause of so many usual distances is a gap, and stays one. */
const GAP_DISTANCES = 6

/** Stretches without a gap. */
function unbroken(points: ReportChart['points']): ReportChart['points'][] {
  const distances = points.slice(1).map((point, index) => point.timeMs - points[index]!.timeMs).sort((a, b) => a - b)
  const usualMs = distances[Math.floor(distances.length / 2)] ?? 0
  const runs: ReportChart['points'][number][][] = []
  for (const [index, point] of points.entries()) {
    const before = points[index - 1]
    if (before === undefined || point.timeMs - before.timeMs > GAP_DISTANCES * usualMs) runs.push([])
    runs.at(-1)!.push(point)
  }
  return runs
}

/** Every so many-th point, and of each stretch the furthest from its centre, so that no outlier is lost. */
function thinned(points: ReportChart['points']): ReportChart['points'] {
  if (points.length <= POINTS_MAX) return points
  const size = Math.ceil(points.length / POINTS_MAX)
  const kept: ReportChart['points'][number][] = []
  for (let start = 0; start < points.length; start += size) {
    const stretch = points.slice(start, start + size)
    kept.push(stretch.reduce((far, point) => (Math.abs(point.value - point.centre) > Math.abs(far.value - far.centre) ? point : far)))
  }
  return kept
}
