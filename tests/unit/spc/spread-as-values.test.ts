import { expect, it } from 'vitest'
import { createProcessChart, stepProcessChart, type ProcessChartDesign } from '../../../src/spc/process-chart.js'
import { createSpread, stepSpread, type SpreadDesign } from '../../../src/spc/spread-chart.js'
import { ewmaLimit } from '../../../src/spc/design-limits.js'
import { normalSource } from '../../property/spc/random.js'

const WINDOW = 60
const ARL0 = 20_000
const PROCESS: ProcessChartDesign = { kind: 'individuals', arl0: ARL0, baselineTarget: 300, baselineMin: 30, charts: ['shewhart', 'cusum'], sigmaFloor: 0.001 }
const LAMBDA = 0.2
/** The EWMA is given the true sigma, the process chart learns the level of ln S first. */
const SPREAD: SpreadDesign = { sigma: 1, windowSize: WINDOW, lambda: LAMBDA, limit: ewmaLimit(LAMBDA, ARL0) }
const LEARNED_WINDOWS = 400
const SOURCE_COUNT = 12

/** Windows from the change of the standard deviation to the signal of each chart; undefined where one signalled before it. */
function delays(seed: number, factor: number): { readonly asValues: number; readonly ewma: number } | undefined {
  const normal = normalSource(seed)
  const sdOf = (sigma: number): number => {
    const values = Array.from({ length: WINDOW }, () => sigma * normal())
    const mean = values.reduce((sum, x) => sum + x, 0) / WINDOW
    return Math.sqrt(values.reduce((sum, x) => sum + (x - mean) ** 2, 0) / (WINDOW - 1))
  }
  const chart = createProcessChart(PROCESS)
  const spread = createSpread(SPREAD)
  let asValues = 0
  let ewma = 0
  let window = 0
  const sink = { point: () => undefined, ruleHit: () => undefined, baseline: () => undefined, signal: () => void (asValues ||= window) }
  while (window < LEARNED_WINDOWS + 500 && (asValues === 0 || ewma === 0)) {
    const sd = sdOf(++window > LEARNED_WINDOWS ? factor : 1)
    stepProcessChart(PROCESS, chart, window * 60_000, Math.log(sd), sink)
    if (stepSpread(spread, SPREAD, sd).beyond !== 'none') ewma ||= window
  }
  return Math.min(asValues, ewma) <= LEARNED_WINDOWS ? undefined : { asValues: asValues - LEARNED_WINDOWS, ewma: ewma - LEARNED_WINDOWS }
}

it.each([1.15, 1.4, 0.85])('ln S charted as a value shows a standard deviation times %d about as soon as the EWMA of ln S²', (factor) => {
  const all = Array.from({ length: SOURCE_COUNT }, (_, i) => delays(100 + i, factor)).filter((each) => each !== undefined)
  expect(all.length).toBeGreaterThan(SOURCE_COUNT - 3)
  const mean = (of: 'asValues' | 'ewma'): number => all.reduce((sum, each) => sum + each[of], 0) / all.length
  expect(mean('asValues')).toBeLessThan(1.35 * mean('ewma') + 1)
})
