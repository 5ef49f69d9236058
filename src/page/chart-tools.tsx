import type { LineSummary } from './api-types.js'
import type { Shown } from './chart-feature.js'
import { RANGES, type RangeKind } from './chart-range.js'
import { chartsText } from './charts-texts.js'
import { zoomed, type TimeSpan } from './control-chart-plot.js'
import { keepUnits, SPEED_UNITS, TEMPERATURE_UNITS, type UnitChoice } from './format.js'
import { hashOf } from './page-state.js'
import { text, type Language } from './texts.js'

export const SECTIONS = ['fluxer', 'preheat', 'transport', 'pot', 'line'] as const
const SHOWN: readonly (keyof Shown)[] = ['rules', 'cusum', 'ewma', 'spread', 'sigma']

/** What the reader has chosen to see. */
export interface ChartView {
  readonly range: RangeKind
  /** A section, or `all`. */
  readonly section: string
  readonly shown: Shown
  /** Whether new points are drawn as they come. */
  readonly live: boolean
  readonly units: UnitChoice
  /** Zoomed to; the range without it. */
  readonly span: TimeSpan | undefined
}

interface ChartToolsProps {
  readonly line: LineSummary
  readonly lines: readonly LineSummary[]
  /** Whether only some features are shown, where a suggestion led here. */
  readonly isPart: boolean
  readonly view: ChartView
  readonly language: Language
  readonly onChange: (change: Partial<ChartView>) => void
  readonly onMove: (change: (span: TimeSpan) => TimeSpan) => void
}

/** Lines, time, what is drawn, units and zoom: everything above the charts that can be pressed. */
export function ChartTools(props: ChartToolsProps) {
  const { view, language, onChange } = props
  return (
    <div class="chart-tools no-print">
      <Ways {...props} />
      <p class="actions" role="group" aria-label={chartsText(language, 'range.title')}>
        {RANGES.map((kind) => (
          <button key={kind} type="button" class={kind === view.range ? 'chosen' : ''} aria-pressed={kind === view.range} onClick={() => onChange({ range: kind, span: undefined })}>
            {chartsText(language, `range.${kind}`)}
          </button>
        ))}
        <label class="choice">
          <input type="checkbox" checked={view.live} onChange={(event) => onChange({ live: event.currentTarget.checked })} /> {chartsText(language, 'follow')}
        </label>
      </p>
      <details open={isWide()}>
        <summary>{chartsText(language, 'tools')}</summary>
        <Choices {...props} />
        <Zoom {...props} />
      </details>
    </div>
  )
}

/** On a phone the tools would fill the screen before the first chart. */
function isWide(): boolean {
  return matchMedia('(min-width: 700px)').matches
}

function Ways({ line, lines, isPart, language }: ChartToolsProps) {
  return (
    <p class="actions">
      {lines.length > 1 &&
        lines.map((other) => (
          <a key={other.line} class={other.line === line.line ? 'button chosen' : 'button'} href={hashOf({ view: 'charts', line: other.line })}>
            {other.title}
          </a>
        ))}
      <a class="button" href={hashOf({ view: 'baselines', line: line.line })}>
        {text(language, 'lines.baselines')}
      </a>
      {isPart && (
        <a class="button" href={hashOf({ view: 'charts', line: line.line })}>
          {text(language, 'charts.all')}
        </a>
      )}
    </p>
  )
}

function Choices({ view, language, onChange }: ChartToolsProps) {
  return (
    <p class="actions" role="group" aria-label={chartsText(language, 'show')}>
      {SHOWN.map((name) => (
        <label key={name} class="choice">
          <input type="checkbox" checked={view.shown[name]} onChange={(event) => onChange({ shown: { ...view.shown, [name]: event.currentTarget.checked } })} /> {chartsText(language, `show.${name}`)}
        </label>
      ))}
      <label class="choice">
        {chartsText(language, 'section')}
        <select value={view.section} onChange={(event) => onChange({ section: event.currentTarget.value })}>
          <option value="all">{chartsText(language, 'section.all')}</option>
          {SECTIONS.map((name) => (
            <option key={name} value={name}>
              {text(language, `section.${name}`)}
            </option>
          ))}
        </select>
      </label>
      <UnitChoices view={view} language={language} onChange={onChange} />
    </p>
  )
}

function UnitChoices({ view, language, onChange }: Pick<ChartToolsProps, 'view' | 'language' | 'onChange'>) {
  const choose = (units: UnitChoice): void => {
    keepUnits(units)
    onChange({ units })
  }
  return (
    <label class="choice">
      {chartsText(language, 'units')}
      <select value={view.units.temperature} onChange={(event) => choose({ ...view.units, temperature: TEMPERATURE_UNITS.find((unit) => unit === event.currentTarget.value) ?? '°C' })}>
        {TEMPERATURE_UNITS.map((unit) => (
          <option key={unit}>{unit}</option>
        ))}
      </select>
      <select aria-label={chartsText(language, 'units')} value={view.units.speed} onChange={(event) => choose({ ...view.units, speed: SPEED_UNITS.find((unit) => unit === event.currentTarget.value) ?? 'mm/s' })}>
        {SPEED_UNITS.map((unit) => (
          <option key={unit}>{unit}</option>
        ))}
      </select>
    </label>
  )
}

const MOVES = {
  'zoom.in': (span: TimeSpan) => zoomed(span, 0.5),
  'zoom.out': (span: TimeSpan) => zoomed(span, 2),
  'zoom.earlier': ([from, to]: TimeSpan): TimeSpan => [from - (to - from) / 2, to - (to - from) / 2],
  'zoom.later': ([from, to]: TimeSpan): TimeSpan => [from + (to - from) / 2, to + (to - from) / 2],
} as const

function Zoom({ view, language, onChange, onMove }: ChartToolsProps) {
  return (
    <p class="actions">
      {(Object.keys(MOVES) as (keyof typeof MOVES)[]).map((name) => (
        <button key={name} type="button" onClick={() => onMove(MOVES[name])}>
          {chartsText(language, name)}
        </button>
      ))}
      <button type="button" disabled={view.span === undefined} onClick={() => onChange({ span: undefined })}>
        {chartsText(language, 'zoom.reset')}
      </button>
    </p>
  )
}
