import type { PointView } from './api-types.js'
import { timeText } from './format.js'
import { api } from './api-client.js'
import { useAnswer } from './page-state.js'
import { text, type Language } from './texts.js'

const POINTS_SHOWN = 200
const WIDTH = 400
const HEIGHT = 90

interface SmallChartProps {
  readonly line: string
  readonly feature: string
  /** When it began, ISO 8601. */
  readonly onset: string
  /** When something new was said of the suggestion. */
  readonly statusTime: string
  readonly timeZone: string
  readonly language: Language
}

/** The evidence as a small picture: the last values of the feature that says most, its usual level, and where it began to move. */
export function SuggestionChart({ line, feature, onset, statusTime, timeZone, language }: SmallChartProps) {
  const { answer: series } = useAnswer(async () => {
    const [features, points] = await Promise.all([api.features(line, language), api.points(line, feature, 8 * POINTS_SHOWN)])
    const spec = features.find((one) => one.feature === feature)
    const chart = points.findLast((point) => !point.chart.startsWith('cusum'))?.chart
    return { title: spec?.title ?? feature, points: aroundOnset(points.filter((point) => point.chart === chart), Date.parse(onset)) }
  }, [line, feature, statusTime, language])
  if (series === undefined || series.points.length < 2) return null
  const { title, points } = series
  const { dots, centre, onsetX } = drawn(points, Date.parse(onset))
  return (
    <figure class="small-chart">
      <svg viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={`${title}, ${text(language, 'card.since')} ${timeText(onset, language, timeZone)}`}>
        {onsetX !== undefined && <rect x={onsetX} y={0} width={WIDTH - onsetX} height={HEIGHT} class="small-since" />}
        {centre !== undefined && <line x1={0} x2={WIDTH} y1={centre} y2={centre} class="small-centre" />}
        {dots.map(([x, y]) => (
          <circle key={x} cx={x} cy={y} r={1.6} class="small-dot" />
        ))}
      </svg>
      <figcaption>{title}</figcaption>
    </figure>
  )
}

/** The newest points with some from before it began, thinned where there are too many: without a before there is no after. */
function aroundOnset(points: readonly PointView[], onsetMs: number): readonly PointView[] {
  const first = points.findIndex(({ time }) => Date.parse(time) >= onsetMs)
  const since = first < 0 ? 0 : points.length - first
  const before = Math.max(POINTS_SHOWN - since, Math.ceil(since / 2))
  const shown = points.slice(-(since + before))
  const step = Math.ceil(shown.length / POINTS_SHOWN)
  // Counted from the newest, so that it is always among them.
  return shown.filter((_, index) => (shown.length - 1 - index) % step === 0)
}

/** Places in the picture; by number of point, so that nights without values take no room. */
function drawn(points: readonly PointView[], onsetMs: number): { readonly dots: readonly (readonly [number, number])[]; readonly centre: number | undefined; readonly onsetX: number | undefined } {
  const centres = points.map(({ centre }) => centre).filter(Number.isFinite)
  const values = [...points.map(({ value }) => value), ...centres]
  const low = Math.min(...values)
  const high = Math.max(...values)
  const x = (index: number): number => 4 + (index / (points.length - 1)) * (WIDTH - 8)
  const y = (value: number): number => 6 + (1 - (value - low) / Math.max(1e-9, high - low)) * (HEIGHT - 12)
  const first = points.findIndex(({ time }) => Date.parse(time) >= onsetMs)
  const last = centres.at(-1)
  return { dots: points.map(({ value }, index) => [x(index), y(value)]), centre: last === undefined ? undefined : y(last), onsetX: first < 0 ? undefined : x(first) }
}
