import type { Reading } from '../line/reading.js'
import { individualsLimits } from '../spc/individuals-chart.js'
import { createWesternElectric, isFulfilled, stepWesternElectric, WESTERN_ELECTRIC_RULES, type WesternElectricState } from '../spc/western-electric.js'

const MINUTE_MS = 60_000
/** A day of production is what a handbook's Phase I would rest on at least; here one working day of minutes. [ASM] */
const BASELINE_POINTS = 480

interface ChannelChart {
  minuteMs: number
  sum: number
  count: number
  /** Minute means until the limits are set; empty after. */
  learning: number[]
  centre: number
  sigma: number
  rules: WesternElectricState
  /** Some rule is fulfilled now. */
  inEpisode: boolean
  points: number
  pointsInEpisodes: number
  episodes: number
}

/** What the textbook's chart of one channel would have cost. */
export interface TextbookCost {
  readonly channel: string
  /** Minute means judged after the limits were set. */
  readonly points: number
  /** Stretches in which one of the four rules was fulfilled, without a break. */
  readonly episodes: number
  /** Points of those stretches: a chart that is hardly ever quiet has few, long ones. */
  readonly pointsInEpisodes: number
}

/**
 * The yardstick of naive practice: an individuals chart of the one-minute means of every measured channel, 3-sigma
 * limits from the moving range of its first 480 minutes, the four Western Electric rules, no regard to what the line
 * does, to correlation or to recipes. Only counts; nothing is decided from it.
 */
export interface TextbookPractice {
  take(reading: Reading): void
  cost(): readonly TextbookCost[]
}

/** @param isCharted whether a channel is a measured one; set-points, counters and texts are not charted */
export function createTextbookPractice(isCharted: (channel: string) => boolean): TextbookPractice {
  const charts = new Map<string, ChannelChart>()
  return {
    take({ channel, timeMs, value }) {
      if (typeof value !== 'number') return
      let chart = charts.get(channel)
      if (chart === undefined) {
        if (!isCharted(channel)) return
        charts.set(channel, (chart = { minuteMs: 0, sum: 0, count: 0, learning: [], centre: 0, sigma: 0, rules: createWesternElectric(), inEpisode: false, points: 0, pointsInEpisodes: 0, episodes: 0 }))
      }
      const minuteMs = Math.floor(timeMs / MINUTE_MS) * MINUTE_MS
      if (minuteMs !== chart.minuteMs) {
        if (chart.count > 0) closeMinute(chart)
        chart.minuteMs = minuteMs
        chart.sum = 0
        chart.count = 0
      }
      chart.sum += value
      chart.count += 1
    },
    cost: () => [...charts].map(([channel, { points, episodes, pointsInEpisodes }]) => ({ channel, points, episodes, pointsInEpisodes })),
  }
}

function closeMinute(chart: ChannelChart): void {
  const mean = chart.sum / chart.count
  if (chart.sigma === 0) {
    chart.learning.push(mean)
    if (chart.learning.length < BASELINE_POINTS) return
    const limits = individualsLimits(chart.learning)
    // A channel that has not moved for a day learns on: there is no chart of a constant.
    if (limits.kind !== 'limits' || !(limits.sigma > 0)) {
      chart.learning = chart.learning.slice(-BASELINE_POINTS / 2)
      return
    }
    chart.centre = limits.individuals.centre
    chart.sigma = limits.sigma
    chart.learning = []
    return
  }
  chart.points += 1
  stepWesternElectric(chart.rules, chart.minuteMs, (mean - chart.centre) / chart.sigma, 'individuals', () => undefined)
  const fulfilled = WESTERN_ELECTRIC_RULES.some((rule) => isFulfilled(chart.rules, rule, 'above') || isFulfilled(chart.rules, rule, 'below'))
  if (fulfilled && !chart.inEpisode) chart.episodes += 1
  if (fulfilled) chart.pointsInEpisodes += 1
  chart.inEpisode = fulfilled
}
