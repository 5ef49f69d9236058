import { useState } from 'preact/hooks'
import './charts.css'
import { api } from './api-client.js'
import type { LineSummary } from './api-types.js'
import { DerivedPlot, FeatureChart, type Shown } from './chart-feature.js'
import { RANGES, rangeStartMs, type RangeKind } from './chart-range.js'
import { chartsApi } from './charts-client.js'
import { chartsText } from './charts-texts.js'
import { zoomed, type TimeSpan } from './control-chart-plot.js'
import { keepUnits, preferredUnits, SPEED_UNITS, TEMPERATURE_UNITS, type UnitChoice } from './format.js'
import { hashOf, useAnswer } from './page-state.js'
import type { ScreenProps } from './screen.js'
import { text, type Language } from './texts.js'

const SECTIONS = ['fluxer', 'preheat', 'transport', 'pot', 'line'] as const
const SHOWN: readonly (keyof Shown)[] = ['rules', 'cusum', 'ewma', 'spread', 'sigma']

interface ChartsViewProps {
  readonly line: LineSummary
  readonly lines: readonly LineSummary[]
  readonly onlyFeatures: readonly string[] | undefined
  readonly language: Language
  readonly news: ScreenProps['news']
}

/** The charts of the line in the address. */
export function ChartsScreen({ language, route, lines, line, news }: ScreenProps) {
  if (line === undefined) return null
  return <ChartsView line={line} lines={lines ?? []} onlyFeatures={route.features} language={language} news={news} />
}

/** Every charted feature of a line, section by section in the order a board travels. */
function ChartsView({ line, lines, onlyFeatures, language, news }: ChartsViewProps) {
  const [range, setRange] = useState<RangeKind>('all')
  const [section, setSection] = useState<string>('all')
  const [shown, setShown] = useState<Shown>({ rules: false, cusum: false, ewma: false, spread: false, sigma: false })
  const [live, setLive] = useState(true)
  const [span, setSpan] = useState<TimeSpan | undefined>(undefined)
  const [units, setUnits] = useState<UnitChoice>(preferredUnits)
  const points = live ? news.point : 0
  const { answer: features, failure } = useAnswer(() => api.features(line.line, language), [line.line, language, points, news.baseline])
  const { answer: states } = useAnswer(() => chartsApi.states(line.line), [line.line, live ? news.state : 0])
  const { answer: marks } = useAnswer(() => chartsApi.marks(line.line, language), [line.line, language, news.fact])
  const { answer: signals } = useAnswer(() => chartsApi.signals(line.line), [line.line, live ? news.signal : 0])
  const { answer: insights } = useAnswer(() => chartsApi.insights(line.line), [line.line, news.insight])
  const { answer: shifts } = useAnswer(() => chartsApi.shifts(line.line, language), [line.line])
  const say = (key: string): string => text(language, key)
  const chosen = (features ?? []).filter((feature) => (onlyFeatures === undefined || onlyFeatures.includes(feature.feature)) && (section === 'all' || feature.section === section))
  const nowMs = Date.parse(line.dataTime ?? new Date().toISOString())
  const chooseUnits = (next: UnitChoice): void => {
    keepUnits(next)
    setUnits(next)
  }
  const chooseRange = (kind: RangeKind): void => {
    setRange(kind)
    setSpan(undefined)
  }
  const spans = new Map(SECTIONS.map((name) => [name, rangeStartMs(range, { nowMs, timeZone: line.timeZone, shifts: shifts ?? [], marks: marks ?? [], section: name })]))
  const zoomOf = (from: number | undefined): TimeSpan | undefined => span ?? (from === undefined ? undefined : [from / 1000, nowMs / 1000])
  const move = (change: (shownSpan: TimeSpan) => TimeSpan): void => {
    const before = span ?? [(spans.get('preheat') ?? oldestMs(line, nowMs)) / 1000, nowMs / 1000]
    setSpan(change(before))
  }
  return (
    <section aria-labelledby="charts-title">
      <h2 id="charts-title">
        {say('charts.title')}: {line.title}
      </h2>
      <div class="chart-tools no-print">
        <p class="actions">
          {lines.length > 1 &&
            lines.map((other) => (
              <a key={other.line} class={other.line === line.line ? 'button chosen' : 'button'} href={hashOf({ view: 'charts', line: other.line })}>
                {other.title}
              </a>
            ))}
          <a class="button" href={hashOf({ view: 'baselines', line: line.line })}>
            {say('lines.baselines')}
          </a>
          {onlyFeatures !== undefined && (
            <a class="button" href={hashOf({ view: 'charts', line: line.line })}>
              {say('charts.all')}
            </a>
          )}
        </p>
        <p class="actions" role="group" aria-label={chartsText(language, 'range.title')}>
          {RANGES.map((kind) => (
            <button key={kind} type="button" class={kind === range ? 'chosen' : ''} aria-pressed={kind === range} onClick={() => chooseRange(kind)}>
              {chartsText(language, `range.${kind}`)}
            </button>
          ))}
          <label class="choice">
            <input type="checkbox" checked={live} onChange={(event) => setLive(event.currentTarget.checked)} /> {chartsText(language, 'follow')}
          </label>
        </p>
        <details open={isWide()}>
          <summary>{chartsText(language, 'tools')}</summary>
        <p class="actions" role="group" aria-label={chartsText(language, 'show')}>
          {SHOWN.map((name) => (
            <label key={name} class="choice">
              <input type="checkbox" checked={shown[name]} onChange={(event) => setShown({ ...shown, [name]: event.currentTarget.checked })} /> {chartsText(language, `show.${name}`)}
            </label>
          ))}
          <label class="choice">
            {chartsText(language, 'section')}
            <select value={section} onChange={(event) => setSection(event.currentTarget.value)}>
              <option value="all">{chartsText(language, 'section.all')}</option>
              {SECTIONS.map((name) => (
                <option key={name} value={name}>
                  {say(`section.${name}`)}
                </option>
              ))}
            </select>
          </label>
          <UnitChoices units={units} language={language} onChoose={chooseUnits} />
        </p>
        <p class="actions">
          <button type="button" onClick={() => move((now) => zoomed(now, 0.5))}>
            {chartsText(language, 'zoom.in')}
          </button>
          <button type="button" onClick={() => move((now) => zoomed(now, 2))}>
            {chartsText(language, 'zoom.out')}
          </button>
          <button type="button" onClick={() => move(([from, to]) => [from - (to - from) / 2, to - (to - from) / 2])}>
            {chartsText(language, 'zoom.earlier')}
          </button>
          <button type="button" onClick={() => move(([from, to]) => [from + (to - from) / 2, to + (to - from) / 2])}>
            {chartsText(language, 'zoom.later')}
          </button>
          <button type="button" disabled={span === undefined} onClick={() => setSpan(undefined)}>
            {chartsText(language, 'zoom.reset')}
          </button>
        </p>
        </details>
      </div>
      <p class="soft">
        {say('charts.times-in')} {line.timeZone}
        {line.simulated && ` · ${say('page.simulated')}`}
        <span class="no-print"> · {chartsText(language, 'zoom.help')}</span>
      </p>
      {failure !== undefined && <p class="act">{failure}</p>}
      {features !== undefined && chosen.length === 0 && <p class="empty">{say('charts.none')}</p>}
      {SECTIONS.filter((name) => chosen.some((feature) => feature.section === name)).map((name) => {
        const from = spans.get(name)
        const fromIso = from === undefined ? undefined : new Date(from).toISOString()
        return (
          <section key={name}>
            <h3>{say(`section.${name}`)}</h3>
            {onlyFeatures === undefined && (name === 'preheat' || name === 'line') && <Together line={line} of={name === 'preheat' ? 'zones' : 'defects'} from={fromIso} span={zoomOf(from)} onSpan={setSpan} language={language} news={points} />}
            <div class="charts">
              {chosen
                .filter((feature) => feature.section === name)
                .map((feature) => (
                  <FeatureChart
                    key={`${line.line} ${feature.feature}`}
                    line={line}
                    feature={feature}
                    states={states ?? NO_STATES}
                    marks={marks ?? NO_MARKS}
                    signals={signals ?? NO_SIGNALS}
                    insights={insights ?? NO_INSIGHTS}
                    from={fromIso}
                    note={range === 'cleaning' && from === undefined ? chartsText(language, 'range.no-cleaning') : undefined}
                    span={zoomOf(from)}
                    onSpan={setSpan}
                    shown={shown}
                    units={units}
                    language={language}
                    news={points}
                  />
                ))}
            </div>
          </section>
        )
      })}
    </section>
  )
}

/** On a phone the tools would fill the screen before the first chart. */
function isWide(): boolean {
  return matchMedia('(min-width: 700px)').matches
}

const NO_STATES: readonly never[] = []
const NO_MARKS: readonly never[] = []
const NO_SIGNALS: readonly never[] = []
const NO_INSIGHTS: readonly never[] = []

/** With everything shown, zooming starts from the last week. */
function oldestMs(_line: LineSummary, nowMs: number): number {
  return nowMs - 7 * 24 * 3_600_000
}

function UnitChoices({ units, language, onChoose }: { readonly units: UnitChoice; readonly language: Language; readonly onChoose: (units: UnitChoice) => void }) {
  return (
    <label class="choice">
      {chartsText(language, 'units')}
      <select value={units.temperature} onChange={(event) => onChoose({ ...units, temperature: TEMPERATURE_UNITS.find((unit) => unit === event.currentTarget.value) ?? '°C' })}>
        {TEMPERATURE_UNITS.map((unit) => (
          <option key={unit}>{unit}</option>
        ))}
      </select>
      <select aria-label={chartsText(language, 'units')} value={units.speed} onChange={(event) => onChoose({ ...units, speed: SPEED_UNITS.find((unit) => unit === event.currentTarget.value) ?? 'mm/s' })}>
        {SPEED_UNITS.map((unit) => (
          <option key={unit}>{unit}</option>
        ))}
      </select>
    </label>
  )
}

interface TogetherProps {
  readonly line: LineSummary
  readonly of: 'zones' | 'defects'
  readonly from: string | undefined
  readonly span: TimeSpan | undefined
  readonly onSpan: (span: TimeSpan | undefined) => void
  readonly language: Language
  readonly news: number
}

/** Several features on one chart, on request. */
function Together({ line, of, from, span, onSpan, language, news }: TogetherProps) {
  const [open, setOpen] = useState(false)
  const { answer } = useAnswer(async () => (open ? chartsApi.together(line.line, of, from) : undefined), [open, line.line, of, from, news])
  return (
    <details class="together" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{chartsText(language, `together.${of}`)}</summary>
      {answer?.kind === 'together' && (
        <>
          <p class="soft">{chartsText(language, 'together.help', { n: answer.baselineCount })}</p>
          <DerivedPlot points={answer.points} label={chartsText(language, 'chart.together')} shown={{ unit: 'T²', factor: 1, offset: 0 }} timeZone={line.timeZone} language={language} syncKey={line.line} span={span} onSpan={onSpan} />
        </>
      )}
      {answer?.kind === 'too-few-values' && <p class="soft">{chartsText(language, 'together.too-few-values', { n: answer.valueCount, target: answer.valueCountMin })}</p>}
      {(answer?.kind === 'no-variation' || answer?.kind === 'dependent') && <p class="soft">{chartsText(language, `together.${answer.kind}`)}</p>}
    </details>
  )
}
