import { readdirSync } from 'node:fs'
import { describe, expect, it } from 'vitest'

/** Every exported function of src/spc, by name, so that a new one cannot be forgotten here. */
const folder = new URL('../../../src/spc/', import.meta.url)
const exported: Record<string, (...args: any[]) => any> = {}
for (const file of readdirSync(folder).filter((name) => name.endsWith('.ts') && !name.endsWith('.d.ts'))) {
  const module = (await import(new URL(file, folder).href)) as Record<string, unknown>
  for (const [name, value] of Object.entries(module)) if (typeof value === 'function' && !/^class\s/.test(String(value))) exported[name] ??= value as (...args: any[]) => any
}
const call = (name: string, ...args: unknown[]): unknown => exported[name]!(...args)

/** A number that is none, anywhere in an answer; only a state may hold null, for what is not there. */
function notANumber(value: unknown, path = 'result'): string | undefined {
  if (value === null) return path.startsWith('result.state.') ? undefined : `${path} is null`
  if (typeof value === 'number') return Number.isFinite(value) ? undefined : `${path} is ${value}`
  if (typeof value !== 'object' || value === undefined) return undefined
  for (const [key, each] of Object.entries(value)) {
    const found = notANumber(each, `${path}.${key}`)
    if (found !== undefined) return found
  }
  return undefined
}

/** A number, a reason or an error that says what was wrong; never NaN, Infinity or null. */
function expectSense(run: () => unknown, what: string): void {
  let result: unknown
  try {
    result = run()
  } catch (error) {
    expect(error, what).toBeInstanceOf(Error)
    expect((error as Error).constructor, `${what}: ${(error as Error).message}`).toBe(Error)
    expect((error as Error).message.length, what).toBeGreaterThan(20)
    return
  }
  expect(notANumber(result), what).toBe(undefined)
}

const wave = Array.from({ length: 40 }, (_, i) => 10 + Math.sin(i * i))
const SERIES: Record<string, number[]> = {
  empty: [],
  'one value': [5],
  'two equal': [5, 5],
  'two different': [5, 6],
  constant: Array.from({ length: 40 }, () => 5),
  'constant, not exact in binary': Array.from({ length: 40 }, () => 0.1),
  'constant but the last': [...Array.from({ length: 39 }, () => 5), 6],
  'two values in turn': Array.from({ length: 40 }, (_, i) => i % 2),
  'a straight line': Array.from({ length: 40 }, (_, i) => i),
  zeros: Array.from({ length: 40 }, () => 0),
  'with NaN': [...wave.slice(0, 20), NaN, ...wave.slice(20)],
  'with Infinity': [...wave.slice(0, 20), Infinity, ...wave.slice(20)],
  'with -Infinity': [-Infinity, ...wave],
  'with 1e300': [...wave, 1e300],
  'all 1e300': wave.map((x) => x * 1e300),
  tiny: wave.map((x) => x * 1e-300),
  'far from 0': wave.map((x) => x + 1e12),
}
const points = (ys: readonly number[]) => ys.map((y, x) => ({ x, y }))
const inTime = (ys: readonly number[]) => ys.map((value, i) => ({ timeMs: i * 3_600_000, value }))
const specification = { lower: 0, upper: 20 }
const levels = (v: readonly number[]) => call('compareLevels', call('levelOf', v), call('levelOf', wave))
const ones = (ys: readonly number[]) => ys.map(() => 1)
const sinkOf = () => ({ point: () => undefined, ruleHit: () => undefined, signal: () => undefined, baseline: () => undefined })

const OF_SERIES: Record<string, (values: readonly number[]) => unknown> = {
  autocorrelations: (v) => call('autocorrelations', v, 5),
  portmanteauTest: (v) => call('portmanteauTest', v, { lagCount: 5 }),
  fitYuleWalker: (v) => call('fitYuleWalker', v, 2),
  fitLeastSquaresOrderOne: (v) => call('fitLeastSquaresOrderOne', v),
  fitAutoregressionByBic: (v) => call('fitAutoregressionByBic', v, 2),
  batchSizeFor: (v) => call('batchSizeFor', v),
  levelOf: (v) => call('levelOf', v, { at: 'end' }),
  compareLevels: (v) => levels(v),
  equivalenceP: (v) => call('equivalenceP', levels(v), 1),
  differenceInterval: (v) => call('differenceInterval', levels(v), 0.95),
  chanceNotAbove: (v) => call('chanceNotAbove', levels(v), 1),
  chanceNotBelow: (v) => call('chanceNotBelow', levels(v), 1),
  weibullPosterior: (v) => call('weibullPosterior', v.map((lower) => ({ lower, upper: 2 * lower + 1 }))),
  fitBaseline: (v) => call('fitBaseline', v, { sigmaFloor: 0.01 }),
  isQuantised: (v) => call('isQuantised', v),
  capability: (v) => call('capability', v, specification, { signalCount: 0 }),
  stepChangePoint: (v) => call('stepChangePoint', v),
  classifyChange: (v) => call('classifyChange', v),
  cusumOfDeviations: (v) => call('cusumOfDeviations', v),
  tabularCusumAlarm: (v) => call('tabularCusumAlarm', v, { mean: 10, sigma: 1, k: 0.5, h: 5 }),
  individualsLimits: (v) => call('individualsLimits', v),
  subgroupLimits: (v) => call('subgroupLimits', [v.slice(0, 4), v.slice(4, 8), v.slice(8, 12)], 'range'),
  attributeLimits: (v) => call('attributeLimits', 'u', v.map((count) => ({ count, size: 10 }))),
  multivariateBaseline: (v) => call('multivariateBaseline', v.map((x, i) => [x, i % 3])),
  estimateDrift: (v) => call('estimateDrift', inTime(v)),
  timeToLimit: (v) => call('timeToLimit', inTime(v), 50, 'above'),
  probabilityBeyond: (v) => call('probabilityBeyond', inTime(v), 50, 'above', 1e9),
  fitEffort: (v) => call('fitEffort', v.map((effort, i) => ({ effort, conditions: [Math.sin(i)] }))),
  fitLine: (v) => call('fitLine', points(v)),
  theilSenLine: (v) => call('theilSenLine', points(v)),
  mannKendallTest: (v) => call('mannKendallTest', v),
  pettittTest: (v) => call('pettittTest', v),
  andersonDarlingTest: (v) => call('andersonDarlingTest', v),
  oneWayTest: (v) => call('oneWayTest', [v, wave]),
  spreadTest: (v) => call('spreadTest', [v, wave]),
  bartlettTest: (v) => call('bartlettTest', [v, wave]),
  flignerTest: (v) => call('flignerTest', [v, wave]),
  kruskalTest: (v) => call('kruskalTest', [v, wave]),
  fitStepResponse: (v) => call('fitStepResponse', v.map((value, time) => ({ time, value }))),
  meanTest: (v) => call('meanTest', v, wave),
  equivalenceTest: (v) => call('equivalenceTest', v, wave, { margin: 1 }),
  varianceRatioTest: (v) => call('varianceRatioTest', wave, v),
  rankSumTest: (v) => call('rankSumTest', v, wave),
  median: (v) => call('median', v),
  qnScale: (v) => call('qnScale', v),
  fitWeibull: (v) => call('fitWeibull', v.map((time) => ({ time, failed: true }))),
  shapePosterior: (v) => call('shapePosterior', v.map((time) => ({ time, failed: true }))),
  fitExponential: (v) => call('fitExponential', v.map((time) => ({ time, failed: true }))),
  fitLognormal: (v) => call('fitLognormal', v.map((time) => ({ time, failed: true }))),
  survivalCurve: (v) => call('survivalCurve', v.map((time) => ({ time, failed: true }))),
  logRankTest: (v) => call('logRankTest', v.map((time) => ({ time, failed: true })), v.map((time) => ({ time, failed: false }))),
  judgeInterval: (v) => call('judgeInterval', v.map((time) => ({ time, failed: true })), 10, { planned: 1, failure: 5 }),
  lifetimeProblem: (v) => call('lifetimeProblem', 'lifetimes', v.map((time) => ({ time, failed: true }))),
  requireLifetimes: (v) => call('requireLifetimes', 'lifetimes', v.map((time) => ({ time, failed: true }))),
  stepIndividuals: (v) => stepped(v, call('createIndividuals'), (state, x) => call('stepIndividuals', state, call('individualsLimits', wave), x)),
  stepEwma: (v) => {
    const design = { centre: 10, sigma: 1, lambda: 0.2, limit: 3, limits: 'time-varying' }
    return stepped(v, call('createEwma', design), (state, x) => call('stepEwma', state, design, x))
  },
  stepCusum: (v) => {
    const design = { centre: 10, sigma: 1, k: 0.5, h: 5 }
    return stepped(v, call('createCusum', design), (state, x) => call('stepCusum', state, design, x))
  },
  stepSpread: (v) => {
    const design = { sigma: 1, windowSize: 60, lambda: 0.2, limit: 4 }
    return stepped(v, call('createSpread', design), (state, x) => call('stepSpread', state, design, x))
  },
  stepSelfStarting: (v) => stepped(v, call('createSelfStarting', { k: 0.5, h: 5 }), (state, x) => call('stepSelfStarting', state, { k: 0.5, h: 5 }, x)),
  stepWesternElectric: (v) => stepped(v, call('createWesternElectric'), (state, x) => call('stepWesternElectric', state, 0, x, 'individuals', () => undefined)),
  stepSupplementary: (v) => stepped(v, call('createSupplementary'), (state, x) => call('stepSupplementary', state, 0, x, ['steady-trend'], () => undefined)),
  stepStandardChart: (v) => {
    const design = { arl0: 1000, sigma: 1, centreValues: 5 }
    return stepped(v, call('createStandardChart'), (state, x, i) => call('stepStandardChart', design, state, i, x, sinkOf()), (state) => call('standardEvidence', design, state))
  },
  stepProcessChart: (v) => {
    const design = { kind: 'individuals', arl0: 1000, baselineTarget: 100, baselineMin: 20, charts: ['shewhart', 'cusum'], sigmaFloor: 0.01 }
    return stepped(v, call('createProcessChart', design), (state, x, i) => call('stepProcessChart', design, state, i * 60_000, x, sinkOf()), (state) => call('chartEvidence', design, state))
  },
  stepSubgroup: (v) => call('stepSubgroup', call('subgroupLimits', [wave.slice(0, 4), wave.slice(4, 8)], 'sd'), v.slice(-4)),
  stepAttribute: (v) => v.map((count) => call('stepAttribute', call('attributeLimits', 'u', wave.map(() => ({ count: 3, size: 10 }))), { count, size: 10 })),
  stepHotelling: (v) => v.map((x) => call('stepHotelling', call('multivariateBaseline', wave.map((y, i) => [y, i % 3])), 12, [x, 1])),
  stepMewma: (v) => {
    const baseline = call('multivariateBaseline', wave.map((y, i) => [y, i % 3]))
    return stepped(v, call('createMewma', baseline), (state, x) => call('stepMewma', state, baseline, 0.2, 12, [x, 1]))
  },
  findLevelChange: (v) => (v.every((x) => Math.abs(x) <= 1e150) ? call('findLevelChange', v, ones(v)) : undefined),
}

/** Steps a chart through all values; what it plots and its state must hold numbers only. */
function stepped(values: readonly number[], state: unknown, step: (state: unknown, value: number, i: number) => unknown, last?: (state: unknown) => unknown): unknown {
  const plotted = values.map((value, i) => {
    const before = JSON.stringify(state)
    try {
      return step(state, value, i) ?? 0
    } catch (error) {
      expect(JSON.stringify(state), 'a refused value leaves the state as it was').toBe(before)
      throw error
    }
  })
  return { plotted, state, last: last?.(state) ?? 0 }
}

const life = { shape: 2, scale: 100 }
const drifting = { distance: 10, drift: 1, sigma: 1 }
/** Arguments that work; each number in them is spoilt in turn. */
const OF_NUMBERS: Record<string, readonly unknown[]> = {
  residualChartDesign: [0.5, 1],
  effectiveCount: [100, 0.5],
  widenedLimit: [3, 100],
  spreadFactor: [100],
  equalSplitArl0: [{ falseSignalsPerWeek: 1, chartCount: 60, pointsPerWeek: 10_080 }],
  weightedSplitArl0: [1, [{ pointsPerWeek: 10_080, weight: 1 }]],
  expectedFalseSignalsPerWeek: [[{ arl0: 1000, pointsPerWeek: 10_080 }]],
  probabilityOfNone: [1, 2],
  trueSignalShare: [{ faultsPerWeek: 1, detectionShare: 0.8, falseSignalsPerWeek: 1 }],
  auditBudget: [1, { falseSignals: 3, weeks: 4 }],
  capabilityIndices: [{ mean: 10, sigma: 1 }, specification],
  spreadIndexInterval: [1.3, 50],
  centredIndexInterval: [1.3, { n: 50, degreesOfFreedom: 49 }],
  oneSidedIndexInterval: [1.3, 50],
  chartConstants: [5],
  c4Of: [5],
  rangeCdf: [3, 5],
  rangeQuantile: [0.5, 5],
  shewhartLimit: [1000],
  ewmaLimit: [0.2, 1000],
  cusumLimit: [0.5, 1000],
  quickCusumLimit: [0.5, 1000],
  chartSetLimits: [1000, ['shewhart', 'cusum'], { errors: { valueCount: 100, spreadCount: 99, lagLeft: 0, lagError: 0.05 }, shiftShare: 1 }],
  guaranteedLimits: [1000, [{ chart: { kind: 'cusum', k: 0.5 }, share: 1, guess: 6 }], { valueCount: 100, spreadCount: 99, lagLeft: 0, lagError: 0.05 }],
  normalScoreOfT: [2, 10],
  tOfNormalScore: [2, 10],
  designTable: [{ channels: 20, pointsPerWeek: 10_080, chartsPerChannel: 3, budgetPerWeek: 1, charts: ['shewhart', 'cusum:0.5'] }],
  cusumArl: [{ k: 0.5, h: 5 }, { shift: 1, sd: 1, headStartShare: 0.5 }],
  ewmaArl: [{ lambda: 0.2, limit: 3 }, { shift: 1, sd: 1 }],
  ewmaHalfWidth: [{ lambda: 0.2, limit: 3 }],
  autocorrelatedShewhartArl: [3, { phi: 0.5 }],
  rulesRunLength: [{ oneBeyondThree: true, sameSideRun: 8 }, { shift: 1, sd: 1 }],
  shewhartArl: [3, { shift: 1, sd: 1 }],
  hotellingLimit: [2, 40, 0.01, 2],
  noncentralTCdf: [2, 10, 1],
  noncentralityOf: [2, 10, 0.5],
  normalPdf: [1],
  normalUpperTail: [1],
  normalCdf: [1],
  normalQuantile: [0.5],
  erf: [1],
  studentTTails: [1, 5],
  studentTCdf: [1, 5],
  studentTQuantile: [0.9, 5],
  chiSquareTails: [3, 5],
  chiSquareCdf: [3, 5],
  chiSquareUpperTail: [3, 5],
  chiSquareQuantile: [0.9, 5],
  fTails: [2, 3, 5],
  fCdf: [2, 3, 5],
  fQuantile: [0.9, 3, 5],
  binomialPmf: [2, 5, 0.5],
  binomialCdf: [2, 5, 0.5],
  poissonPmf: [2, 3],
  poissonCdf: [2, 3],
  poissonUpperTail: [2, 3],
  poissonInterval: [2, 0.95],
  logVarianceMoments: [60],
  loopVerdict: [{ result: 'quiet', effort: 'high', steadyTimeConstants: 5, saturatedShare: 0, neighboursMoved: false, resultFlat: false, resultRestless: false, justChanged: false }],
  effectLossShare: [10, 9],
  expectedEffort: [{ kind: 'effort-model', residualSigma: 0.1, intercept: 1, coefficients: [1], centres: [0], ranges: [{ lower: 0, upper: 1 }] }, [0.5]],
  lineInterval: [{ kind: 'line', n: 10, xMean: 5, yMean: 1, intercept: 0, slope: 1, slopeSe: 0.1, residualSigma: 0.2, sxx: 4, explainedShare: 0.9 }, 5, 0.95, 'mean'],
  lineCrossing: [{ kind: 'line', n: 10, xMean: 5, yMean: 1, intercept: 0, slope: 1, slopeSe: 0.1, residualSigma: 0.2, sxx: 4, explainedShare: 0.9 }, 5, 0.95, 'mean'],
  shrunkCentre: [10, 20, { centre: 9, kappa: 30 }],
  weibullSurvival: [life, 50],
  weibullQuantile: [life, 0.5],
  weibullMoments: [life],
  weibullMeanServiceTime: [life, 50],
  replacementAge: [life, { planned: 1, failure: 5 }],
  replacementCostRate: [life, { planned: 1, failure: 5 }, 50],
  overhaulInterval: [life, { overhaul: 5, minimalRepair: 1 }],
  firstPassageMoments: [drifting],
  firstPassageProbability: [drifting, 8],
  firstPassageDensity: [drifting, 8],
  firstPassageQuantile: [drifting, 0.5],
  createEwma: [{ centre: 0, sigma: 1, lambda: 0.2, limit: 3, limits: 'fixed' }],
  createCusum: [{ centre: 0, sigma: 1, k: 0.5, h: 5, headStart: 0.5 }],
  createSpread: [{ sigma: 1, windowSize: 60, lambda: 0.2, limit: 4 }],
  createSelfStarting: [{ k: 0.5, h: 5 }],
  createProcessChart: [{ kind: 'individuals', arl0: 1000, baselineTarget: 100, baselineMin: 20, charts: ['shewhart'], sigmaFloor: 0.01 }],
}

/** Parts that take only what a function above has checked: state of a chart, series of a fit. */
const FED_BY_CHECKED = `absorbingChain runLengthMoments autocovariances unbiasedLagOne fitAutoregression levelShare meanVarianceFactor
  requireFinite meanOf sampleOf batchMeans checkValues checkSigmaMultiple plotted meanOfValues hotellingT2 standardised isFulfilled resetWesternElectric ranks
  createIndividuals createMewma createRecentHistory createStandardChart createSupplementary createWesternElectric parseChartSpec
  createCusumSet setCusumLimits stepCusumSet cusumShare firstCusumLimit startCusums orderOne segmentStartsMs meanDeviations
  clearRecentHistory forgetBefore pushRecentHistory likelyOnset recentMedian checkDesign createLearnedValues levelShiftShare
  predictedFailed predictedAge shapeAtMost shapeQuantile predictedCosts followLevel resumeAt forecast takeValue tailLimit freezeLimits freezeFollowed beginToFollow stepFollowed chartedArl0 takeLimits createPooledChart poolBaselines pooledModel pooledErrors shrunkFit learnValue holdValue judgeFlapping suspectStretch acquitStretch restartLearning refit tellBaseline tellProgress useLimits formBatches
  refreshSelfStarting floorOf batchedValues autocovarianceSums weightSumVariance keptValues learnOne condense learnedMoments stretchMeans
  setAside pushAside forgetAside learnAside followsOf usualGap baselineStep effectiveCount levelInUnit toCountScale fromCountScale
  judge rememberLag accumulate shareOfLimit replayStatistics decideBaseline holdLearning learnedLevel chartEvidence standardEvidence
  decideStandard checkLife logGamma poissonTerm binomialTerm incompleteGamma incompleteBeta gaussLegendre`.split(/\s+/)

it('no exported function is left out', () => {
  const known = new Set([...Object.keys(OF_SERIES), ...Object.keys(OF_NUMBERS), ...FED_BY_CHECKED])
  expect(Object.keys(exported).filter((name) => !known.has(name))).toEqual([])
})

describe('series that are no good: a reason, numbers or a clear error', () => {
  it.each(Object.keys(OF_SERIES))('%s', (name) => {
    for (const [what, values] of Object.entries(SERIES)) expectSense(() => OF_SERIES[name]!(values), `${name}, ${what}`)
  })
})

const BAD = [NaN, Infinity, -Infinity, -1, 0, 0.5, 1, 1e300, -1e300, 1e-300]

/** Copies of the arguments with one number replaced; what another function has answered (it has a kind) is trusted. */
function spoilt(value: unknown, bad: number): unknown[] {
  if (typeof value === 'number') return [bad]
  if (Array.isArray(value)) return value.flatMap((each, i) => spoilt(each, bad).map((other) => value.map((kept: unknown, j) => (i === j ? other : kept))))
  if (typeof value === 'object' && value !== null && !(typeof (value as { kind?: unknown }).kind === 'string' && !('arl0' in value))) return Object.entries(value).flatMap(([key, each]) => spoilt(each, bad).map((other) => ({ ...value, [key]: other })))
  return []
}

describe('numbers that are no good: numbers or a clear error', () => {
  it.each(Object.keys(OF_NUMBERS).filter((name) => name in exported))('%s', (name) => {
    const args = OF_NUMBERS[name]!
    const answer = (of: readonly unknown[]): unknown => (name.startsWith('create') ? { state: call(name, ...of) } : call(name, ...of))
    expect(notANumber(answer(args)), `${name} as it should be called`).toBe(undefined)
    for (const bad of BAD) for (const other of spoilt(args, bad) as unknown[][]) expectSense(() => answer(other), `${name}(${JSON.stringify(other, (_, x: unknown) => (typeof x === 'number' && !Number.isFinite(x) ? String(x) : x))})`)
  })
})
