import type { PointView, StateView, TimeMarkView } from './api-types.js'
import { numberText, shownUnit, shownValue, type UnitChoice } from './format.js'
import { chartsText } from './charts-texts.js'
import { text, type Language } from './texts.js'

/** A stretch of time on a lane; `solid` carries no words' meaning of its own, the label says it. */
export interface LaneSpan {
  readonly fromSeconds: number
  readonly toSeconds: number
  readonly label: string
  readonly form: 'solid' | 'dashed' | 'dotted' | 'band'
}

export interface LaneMark {
  readonly seconds: number
  readonly label: string
  /** Work comes before changes where there is no room for both. */
  readonly first: boolean
}

/** The lanes under the time axis: what was done and changed, what the line did, what the limits rest on. */
export interface Lanes {
  readonly marks: readonly LaneMark[]
  readonly states: readonly LaneSpan[]
  readonly baselines: readonly LaneSpan[]
}

export interface LaneSource {
  readonly points: readonly PointView[]
  readonly states: readonly StateView[]
  readonly marks: readonly TimeMarkView[]
  readonly section: string
  readonly zone: number | undefined
  readonly language: Language
  readonly units: UnitChoice
}

const seconds = (iso: string): number => Date.parse(iso) / 1000

export function lanesOf(source: LaneSource): Lanes {
  return { marks: marksOf(source), states: stateSpans(source), baselines: baselineSpans(source) }
}

/** Marks of the chart's own place, and those of the whole line. */
function marksOf({ marks, section, zone, language, units }: LaneSource): LaneMark[] {
  return marks
    .filter((mark) => mark.section === undefined || mark.section === 'line' || (mark.section === section && (mark.zone === undefined || zone === undefined || mark.zone === zone)))
    .map((mark) => ({ seconds: seconds(mark.time), label: markWords(mark, language, units), first: mark.kind !== 'change' }))
}

/** Words of a mark; values of a set-point are shown in the reader's units. */
export function markWords(mark: TimeMarkView, language: Language, units: UnitChoice): string {
  if (mark.kind === 'proof') return `${mark.words}: ${chartsText(language, verdictKey(mark.verdict))}`
  const { channel, from, to } = mark
  if (channel === undefined || to === undefined) return mark.words
  const unit = channel.endsWith('.temperature') || channel.endsWith('.setpoint') && !channel.startsWith('conveyor') ? '°C' : channel.startsWith('conveyor.') ? 'mm/s' : ''
  const shown = shownUnit(unit, units)
  const say = (value: number | string | undefined): string => (typeof value === 'number' ? numberText(shownValue(value, shown), language) : (value ?? '–'))
  return `${mark.words} ${say(from)} → ${say(to)}${shown.unit === '' ? '' : ` ${shown.unit}`}`
}

const VERDICTS = ['helped', 'did-not-help', 'too-early', 'was-clean', 'no-channel', 'checked-by-hand', 'not-attributable'] as const

function verdictKey(verdict: string | undefined): `verdict.${(typeof VERDICTS)[number]}` {
  return `verdict.${VERDICTS.find((known) => known === verdict) ?? 'too-early'}`
}

/** Production carries the name of its recipe; everything else says what it was. */
function stateSpans({ states, points, language }: LaneSource): LaneSpan[] {
  const end = points.at(-1) === undefined ? undefined : seconds((points.at(-1) as PointView).time)
  return states.map((state, index) => {
    const next = states[index + 1]
    const isProduction = state.state === 'production'
    const named = isProduction && state.recipe !== ''
    return {
      fromSeconds: seconds(state.time),
      toSeconds: next === undefined ? Math.max(end ?? 0, seconds(state.time)) : seconds(next.time),
      label: named ? state.recipe : text(language, `state.${state.state}`),
      form: isProduction ? 'solid' : 'band',
    }
  })
}

/** Stretches of points that rest on the same sort of baseline. */
function baselineSpans({ points, language }: LaneSource): LaneSpan[] {
  const spans: LaneSpan[] = []
  let from: PointView | undefined
  points.forEach((point, index) => {
    from ??= point
    const next = points[index + 1]
    if (next !== undefined && next.baseline === point.baseline) return
    const form = point.baseline === 'accepted' ? 'solid' : point.baseline === 'provisional' ? 'dashed' : 'dotted'
    const label = chartsText(language, point.baseline === 'accepted' ? 'lane.accepted' : point.baseline === 'provisional' ? 'lane.provisional' : 'lane.self-starting')
    spans.push({ fromSeconds: seconds(from.time), toSeconds: seconds((next ?? point).time), label, form })
    from = undefined
  })
  return spans
}
