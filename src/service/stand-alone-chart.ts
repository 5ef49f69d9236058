import type { LineOutput } from '../monitor/line-output.js'
import { createProcessChart, PROCESS_CHART_FORM, stepProcessChart, type ProcessChartDesign, type ProcessChartState } from '../spc/process-chart.js'

/** Charts of one node when a chart is kept for each topic. */
export const STAND_ALONE_CHARTS_MAX = 200

/** Values a baseline needs before provisional limits. */
const BASELINE_MIN = 30
/** No plotted number is believed to be steadier than this; only a constant needs it. */
const SIGMA_FLOOR = 1e-9

export interface StandAloneDesign {
  /** Effective values to learn from. */
  readonly learn: number
  /** Points wanted between two false signals. */
  readonly falseEvery: number
}

/** Plain JSON. */
export interface StandAloneState {
  readonly form: typeof PROCESS_CHART_FORM
  readonly design: StandAloneDesign
  readonly charts: Record<string, ProcessChartState>
}

export interface ChartNow {
  readonly learning: boolean
  readonly n: number
  readonly target: number
  readonly signal?: { readonly side: 'above' | 'below'; readonly onsetMs: number }
}

/** Control charts of any numbers, without a line: one, or one for each key. */
export class StandAloneChart {
  private readonly processDesign: ProcessChartDesign
  private readonly charts: Map<string, ProcessChartState>

  /**
   * @param saved what `state` gave before; another design starts anew, because its limits would not fit, and so does another form
   * @throws Error if the design is unusable
   */
  constructor(
    private readonly design: StandAloneDesign,
    saved: StandAloneState | undefined,
  ) {
    this.processDesign = { kind: 'individuals', arl0: design.falseEvery, baselineTarget: design.learn, baselineMin: Math.min(BASELINE_MIN, design.learn), charts: ['shewhart', 'cusum'], sigmaFloor: SIGMA_FLOOR }
    const fits = saved !== undefined && saved.form === PROCESS_CHART_FORM && saved.design.learn === design.learn && saved.design.falseEvery === design.falseEvery
    this.charts = new Map(fits ? Object.entries(saved.charts) : [])
  }

  /** Whether a new key would be one too many. */
  isFull(key: string): boolean {
    return !this.charts.has(key) && this.charts.size >= STAND_ALONE_CHARTS_MAX
  }

  /**
   * Charts one value.
   *
   * @returns points, rule hits, their ends and signals it brought out, in order
   * @throws Error if the value is not finite or its size is 1e100 or above
   */
  take(key: string, timeMs: number, value: number): LineOutput[] {
    let chart = this.charts.get(key)
    if (chart === undefined) {
      chart = createProcessChart(this.processDesign)
      this.charts.set(key, chart)
    }
    const outputs: LineOutput[] = []
    const context = { feature: key, recipe: '', state: 'production' as const }
    stepProcessChart(this.processDesign, chart, timeMs, value, {
      point: (point) => outputs.push({ kind: 'point', body: { ...point, ...context } }),
      ruleHit: (hit) => outputs.push({ kind: 'rule-hit', body: { ...hit, ...context } }),
      ruleEnd: (end) => outputs.push({ kind: 'rule-end', body: { ...end, ...context } }),
      signal: (signal) => outputs.push({ kind: 'signal', body: { ...signal, ...context } }),
      baseline: () => undefined,
    })
    return outputs
  }

  now(key: string): ChartNow {
    const chart = this.charts.get(key)
    const target = this.design.learn
    if (chart === undefined) return { learning: true, n: 0, target }
    const n = Math.floor(chart.limited ? (chart.model?.n ?? 0) : (chart.learned?.count ?? 0))
    const { signal } = chart
    return { learning: !chart.limited, n, target, ...(signal === null ? {} : { signal: { side: signal.side, onsetMs: signal.onsetMs } }) }
  }

  state(): StandAloneState {
    return { form: PROCESS_CHART_FORM, design: this.design, charts: Object.fromEntries(this.charts) }
  }
}
