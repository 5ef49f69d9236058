import { equalSplitArl0 } from './budget.js'
import { cusumLimit, ewmaLimit, shewhartLimit } from './design-limits.js'
import { cusumArl } from './run-length-cusum.js'
import { ewmaArl } from './run-length-ewma.js'
import { rulesRunLength, shewhartArl, WESTERN_ELECTRIC_RULE_SET } from './run-length-rules.js'

/** A chart to design: `shewhart`, `ewma:<lambda>`, `cusum:<k>`, `rules:western-electric` or `shewhart:<limit>` (limit given). */
export type ChartSpec =
  | { readonly kind: 'shewhart' }
  | { readonly kind: 'fixed-shewhart'; readonly limit: number }
  | { readonly kind: 'ewma'; readonly lambda: number }
  | { readonly kind: 'cusum'; readonly k: number }
  | { readonly kind: 'rules' }

export interface DesignRequest {
  /** Channels watched. */
  readonly channels: number
  /** Points per channel and week: 10,080 at one a minute. */
  readonly pointsPerWeek: number
  /** Charts to compare, as text (see ChartSpec). */
  readonly charts: readonly string[]
  /** Charts run side by side on each channel; they share the budget. */
  readonly chartsPerChannel: number
  /** False signals the whole line may give in a week. */
  readonly budgetPerWeek: number
}

export interface DesignRow {
  readonly chart: string
  /** In standard deviations of the plotted statistic; for a CUSUM the decision interval h in sigmas. */
  readonly limit: number
  /** Mean run length in control, in points. */
  readonly arl0: number
  /** False signals a week of one such chart on every channel. */
  readonly falsePerWeek: number
  /** Mean points to the signal after a shift of so many sigmas, from a chart at rest (zero state). */
  readonly delays: Readonly<Record<string, number>>
  /** False for charts whose limits are fixed beforehand and cost more than their share of the budget. */
  readonly withinBudget: boolean
}

/** Shifts, in sigmas, the delays are given for. */
export const DESIGN_SHIFTS = ['0.5', '1', '1.5', '2', '3'] as const

/** Limits everybody knows, and what they cost. */
export const TEXTBOOK_CHARTS = ['shewhart:3', 'rules:western-electric'] as const

/** @throws Error with the text that was not understood and what was expected */
export function parseChartSpec(text: string): ChartSpec {
  const [name, parameter, ...rest] = text.trim().toLowerCase().split(':')
  const value = parameter === undefined || parameter === '' ? undefined : Number(parameter)
  if (rest.length === 0) {
    if (name === 'shewhart' && parameter === undefined) return { kind: 'shewhart' }
    if (name === 'shewhart' && value !== undefined && value >= 0.5 && value <= 20) return { kind: 'fixed-shewhart', limit: value }
    if (name === 'ewma' && value !== undefined && value >= 0.01 && value <= 1) return { kind: 'ewma', lambda: value }
    if (name === 'cusum' && value !== undefined && value >= 0.05 && value <= 3) return { kind: 'cusum', k: value }
    if (name === 'rules' && parameter === 'western-electric') return { kind: 'rules' }
  }
  throw new Error(
    `chart "${text}" is not understood: expected shewhart, shewhart:<limit from 0.5 to 20>, ewma:<lambda from 0.01 to 1>, cusum:<k from 0.05 to 3> or rules:western-electric`,
  )
}

function checkRequest(request: DesignRequest): void {
  for (const name of ['channels', 'pointsPerWeek', 'chartsPerChannel', 'budgetPerWeek'] as const) {
    const value = request[name]
    if (!(Number.isFinite(value) && value > 0)) throw new Error(`design: expected ${name} above 0, got ${value}`)
  }
  if (!Number.isInteger(request.channels)) throw new Error(`design: expected a whole number of channels, got ${request.channels}`)
  if (!Number.isInteger(request.chartsPerChannel)) throw new Error(`design: expected a whole number of charts per channel, got ${request.chartsPerChannel}`)
  if (request.charts.length === 0) throw new Error('design: expected at least one chart, got none')
}

/**
 * Limits, run lengths and delays of charts that together keep a budget of false signals (equal split).
 * @throws Error where the request is not sound, or the budget asks for a run length outside 20 to 1e9 points
 */
export function designTable(request: DesignRequest): DesignRow[] {
  checkRequest(request)
  const { channels, chartsPerChannel, pointsPerWeek, budgetPerWeek } = request
  const arl0 = equalSplitArl0({ falseSignalsPerWeek: budgetPerWeek, chartCount: channels * chartsPerChannel, pointsPerWeek })
  if (!(arl0 >= 20 && arl0 <= 1e9)) {
    throw new Error(`design: the budget asks for ${arl0.toPrecision(4)} points between false signals on each chart; charts can be designed for 20 to 1e9`)
  }
  return request.charts.map((chart) => designRow(chart, request, arl0))
}

function designRow(chart: string, request: DesignRequest, arl0: number): DesignRow {
  const designed = designChart(parseChartSpec(chart), arl0)
  const falsePerWeek = (request.channels * request.pointsPerWeek) / designed.arl0
  const delays: Record<string, number> = {}
  for (const shift of DESIGN_SHIFTS) delays[shift] = designed.arlAt(Number(shift))
  return { chart, limit: designed.limit, arl0: designed.arl0, falsePerWeek, delays, withinBudget: designed.arl0 >= arl0 * (1 - 1e-6) }
}

interface DesignedChart {
  readonly limit: number
  readonly arl0: number
  arlAt(shift: number): number
}

function designChart(spec: ChartSpec, arl0: number): DesignedChart {
  switch (spec.kind) {
    case 'shewhart':
      return shewhartChart(shewhartLimit(arl0))
    case 'fixed-shewhart':
      return shewhartChart(spec.limit)
    case 'ewma': {
      const { lambda } = spec
      const limit = ewmaLimit(lambda, arl0)
      return { limit, arl0: ewmaArl({ lambda, limit }), arlAt: (shift) => ewmaArl({ lambda, limit }, { shift }) }
    }
    case 'cusum': {
      const { k } = spec
      const h = cusumLimit(k, arl0)
      return { limit: h, arl0: cusumArl({ k, h }), arlAt: (shift) => cusumArl({ k, h }, { shift }) }
    }
    case 'rules': {
      const arlAt = (shift: number): number => rulesRunLength(WESTERN_ELECTRIC_RULE_SET, { shift }).arl
      return { limit: 3, arl0: arlAt(0), arlAt }
    }
  }
}

function shewhartChart(limit: number): DesignedChart {
  return { limit, arl0: shewhartArl(limit), arlAt: (shift) => shewhartArl(limit, { shift }) }
}
