import type { FeatureSpec } from '../../line/features/feature-spec.js'
import type { Signal } from '../../spc/chart-point.js'
import { individualsLimits, type IndividualsLimits } from '../../spc/individuals-chart.js'
import { createWesternElectric, stepWesternElectric, type WesternElectricState } from '../../spc/western-electric.js'

/** One-minute means the limits are computed from. */
export const YARDSTICK_BASELINE = 100
const MINUTE_MS = 60_000
const DAY_MS = 86_400_000

export const YARDSTICK =
  `naive practice: 3-sigma individuals charts of the 1-minute means of every measured channel while the line produces, sigma from the moving ranges of the first ${YARDSTICK_BASELINE} means, the four Western Electric rules; a rule suggests the section of its channel, each section at most once a day`

interface MinuteChart {
  minute: number
  sum: number
  count: number
  readonly baseline: number[]
  limits: IndividualsLimits | undefined
  readonly rules: WesternElectricState
}

export interface NaiveSuggestion {
  readonly raisedMs: number
  readonly section: string
}

/** Each section is suggested at most once a day. */
class DailySections {
  readonly suggestions: NaiveSuggestion[] = []
  private readonly lastDay = new Map<string, number>()

  protected suggest(section: string, timeMs: number): void {
    const day = Math.floor(timeMs / DAY_MS)
    if (this.lastDay.get(section) === day) return
    this.lastDay.set(section, day)
    this.suggestions.push({ raisedMs: timeMs, section })
  }
}

export const UNCONFIRMED = "told at once: a signal of the detector's own charts in a direction that can mean fouling suggests the section of its feature when it begins and on each day it stands, each section at most once a day; nothing is explained or waited for"

/** What the detector's own charts would have a shop do that waits for nothing: the least delay they allow, and its price. */
export class UnconfirmedPractice extends DailySections {
  private readonly open = new Map<string, Set<string>>()

  /** Takes one signal that begins or ends. */
  take({ section, suspicious }: Pick<FeatureSpec, 'section' | 'suspicious'>, signal: Pick<Signal, 'side' | 'timeMs' | 'phase' | 'chart'> & { readonly feature: string; readonly recipe: string }): void {
    const { side, timeMs, phase, chart, feature, recipe } = signal
    const place = feature.startsWith('exhaust.') ? 'fluxer' : section
    // Boards and the hall belong to no section.
    if (place === 'line' || !(suspicious === 'both' || suspicious === (side === 'above' ? 'up' : 'down'))) return
    let open = this.open.get(place)
    if (open === undefined) this.open.set(place, (open = new Set()))
    if (phase === 'end') open.delete(`${chart} ${side} ${feature} ${recipe}`)
    else {
      open.add(`${chart} ${side} ${feature} ${recipe}`)
      this.suggest(place, timeMs)
    }
  }

  /** Told of the time while the line produces. */
  pass(timeMs: number): void {
    for (const [section, open] of this.open) if (open.size > 0) this.suggest(section, timeMs)
  }
}

/** What a textbook chart on every channel would have a shop do. It is even told when the line produces. */
export class NaivePractice extends DailySections {
  /** Told from outside. */
  producing = false
  private readonly charts = new Map<string, MinuteChart>()
  private readonly sections = new Map<string, string | undefined>()

  /** Takes one reading, in order of time. */
  take(channel: string, timeMs: number, value: number): void {
    let section = this.sections.get(channel)
    if (section === undefined) {
      if (this.sections.has(channel)) return
      this.sections.set(channel, (section = sectionOfChannel(channel)))
      if (section === undefined) return
    }
    let chart = this.charts.get(channel)
    if (chart === undefined) this.charts.set(channel, (chart = { minute: -1, sum: 0, count: 0, baseline: [], limits: undefined, rules: createWesternElectric() }))
    const minute = Math.floor(timeMs / MINUTE_MS)
    if (minute !== chart.minute) {
      if (chart.count > 0 && this.producing) this.plot(chart, section)
      chart.minute = minute
      chart.sum = 0
      chart.count = 0
    }
    chart.sum += value
    chart.count += 1
  }

  private plot(chart: MinuteChart, section: string): void {
    const mean = chart.sum / chart.count
    if (chart.limits === undefined) {
      chart.baseline.push(mean)
      if (chart.baseline.length < YARDSTICK_BASELINE) return
      const limits = individualsLimits(chart.baseline)
      if (limits.kind === 'limits') chart.limits = limits
      return
    }
    const { centre, sigma } = chart.limits.individuals
    if (sigma === 0) return // a channel that stood still has no chart
    const timeMs = (chart.minute + 1) * MINUTE_MS
    stepWesternElectric(chart.rules, timeMs, (mean - centre) / sigma, 'individuals', () => this.suggest(section, timeMs))
  }
}

/** Measured channels belong to a section by their name; set-points, states and counts are not charted. */
function sectionOfChannel(channel: string): string | undefined {
  if (channel.endsWith('.setpoint') || channel.endsWith('.spray-on')) return undefined
  const first = channel.slice(0, channel.indexOf('.'))
  return ({ fluxer: 'fluxer', preheat: 'preheat', conveyor: 'transport', pot: 'pot', exhaust: 'fluxer' } as Record<string, string>)[first]
}
