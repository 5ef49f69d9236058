import { autocovariances, unbiasedLagOne } from './autoregressive-model.js'
import { fitBaseline, isQuantised, type Baseline } from './baseline.js'
import { chartSetLimits, KNOWN_PARAMETERS, type ChartSetLimits } from './chart-limits.js'
import { levelShiftShare, replayStatistics } from './process-chart-statistics.js'
import { createLearnedValues, type BaselineStep, type ChartModel, type LearnedValues, type ProcessChartDesign, type ProcessChartSink, type ProcessChartState } from './process-chart-state.js'
import { clearRecentHistory, createRecentHistory, likelyOnset } from './recent-history.js'
import { median } from './robust-estimates.js'
import { resetWesternElectric } from './western-electric.js'

/** Self-starting points need a spread to be judged by. */
export const SELF_START_MIN = 8
/** Values and times the buffer of Phase I holds before it is condensed. */
const BUFFER_MAX = 300
/** The next fit waits for a fifth more values. */
const FIT_GROWTH = 1.2
/** Batches are formed only once the correlation is known this well. */
const BATCH_DECISION_MIN = 100
const GAP_FACTOR = 1.6
const LAG_ONE_IGNORED = 0.2
/** Standard errors of the long-run deviation that limits allow for, as for the spread: an unlucky baseline in ten. */
const LONG_RUN_ERRORS = 1.28
const LAG_ONE_MARGIN = 0.7
/** Values that wander off again and again are averaged over more and more of them. */
const RESTART_BATCH_MAX = 32
/** Limits for fewer points than this between two false signals lie within two sigmas and signal all the time. */
const CHARTED_ARL0_MIN = 20
const FLAPPING_SIGNALS = 3
/** A self-starting chart that has been suspicious for so many values gives up what it had learned. */
const HELD_MAX = 24

/** Takes one charted value into Phase I and refits where it is time. */
export function learnValue(design: ProcessChartDesign, state: ProcessChartState, y: number, timeMs: number, z: number, sink: ProcessChartSink): void {
  const learned = state.learned!
  learned.count++
  learned.heldCount = 0
  learned.partialSum += y
  learned.partialCount++
  if (learned.block > 1) {
    learned.tailSquares += Math.min(16, z * z)
    learned.tailCount++
  }
  if (learned.partialCount === learned.block) {
    learned.values.push(learned.partialSum / learned.block)
    learned.timesMs.push(timeMs)
    learned.partialSum = 0
    learned.partialCount = 0
  }
  if (!state.limited && learned.values.length >= SELF_START_MIN) refreshSelfStarting(design, state)
  let told = false
  if (learned.count >= learned.nextFit) told = refit(design, state, timeMs, sink)
  if (learned.values.length >= BUFFER_MAX && state.learned !== null) makeRoom(design, state)
  if (!told) tellProgress(design, state, timeMs, sink)
}

/** One value that was not learned because a suspicion is on: a self-starting chart starts again after too many. */
export function holdValue(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, sink: ProcessChartSink): void {
  const learned = state.learned!
  learned.heldCount++
  if (state.limited || learned.heldCount <= Math.max(HELD_MAX, learned.count)) return
  startOver(design, state, 'baseline.change-point-inside', timeMs, sink)
}

/** A chart that still learns and whose signals come and go has learned too little: its limits are not believed any more. */
export function judgeFlapping(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, sink: ProcessChartSink): void {
  state.signalsEnded++
  if (state.learned === null || state.signalsEnded < FLAPPING_SIGNALS || effectiveCount(state) > design.baselineTarget / 2) return
  startOver(design, state, 'baseline.unstable', timeMs, sink)
}

function startOver(design: ProcessChartDesign, state: ProcessChartState, reason: string, timeMs: number, sink: ProcessChartSink): void {
  const batch = state.restarts >= 1 ? Math.min(RESTART_BATCH_MAX, state.batch * 2) : state.batch
  const restarts = state.restarts + 1
  restartLearning(design, state)
  state.batch = batch
  state.restarts = restarts
  state.status = 'refused'
  state.reason = reason
  tellBaseline(design, state, timeMs, sink)
}

/** Takes the whole suspicious stretch back out of what was learned, from its likely onset on. */
export function excludeSuspiciousStretch(state: ProcessChartState, side: 'above' | 'below'): void {
  const learned = state.learned
  const onsetMs = likelyOnset(state.history, side)?.onsetMs
  if (learned === null || onsetMs === undefined) return
  let length = learned.values.length
  while (length > SELF_START_MIN && learned.timesMs[length - 1]! >= onsetMs) length--
  const removed = learned.values.length - length
  learned.values.length = learned.timesMs.length = length
  learned.count -= removed * learned.block + learned.partialCount
  forgetTail(learned, removed * learned.block + learned.partialCount)
  learned.partialSum = learned.partialCount = 0
  learned.nextFit = Math.max(learned.nextFit - removed * learned.block, learned.count + 1)
}

/** Takes values back out of the running spread, the newest of which are the ones that went into it last. */
function forgetTail(learned: LearnedValues, valueCount: number): void {
  const left = Math.max(0, learned.tailCount - valueCount)
  learned.tailSquares *= learned.tailCount === 0 ? 0 : left / learned.tailCount
  learned.tailCount = left
}

/** Forgets everything learned; the chart is as new, but an open signal is the caller's to end first. */
export function restartLearning(design: ProcessChartDesign, state: ProcessChartState): void {
  const limits = chartSetLimits(design.arl0, design.charts, KNOWN_PARAMETERS)
  state.status = 'learning'
  state.reason = ''
  state.suspicion = false
  state.model = null
  state.limited = false
  state.learned = createLearnedValues(design)
  state.batch = 1
  state.batchSum = state.batchCount = state.lagCount = 0
  useLimits(state, limits)
  state.up.fill(0)
  state.down.fill(0)
  state.points = 0
  state.restarts = 0
  state.signalsEnded = 0
  resetWesternElectric(state.rules)
  clearRecentHistory(state.history)
}

/** Fits Phase I to what is there and takes over what can be trusted. Returns true when it has reported a baseline step. */
export function refit(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, sink: ProcessChartSink): boolean {
  const learned = state.learned!
  const later: { values: number[]; timesMs: number[] } = { values: [], timesMs: [] }
  let reason = ''
  for (;;) {
    const follows = followsOf(learned.timesMs)
    const fit = fitBaseline(learned.values, { sigmaFloor: floorOf(design, meanOf(learned.values)), countEffectiveMin: 0, follows, refuseQuantised: false })
    learned.nextFit = Math.ceil(learned.count * FIT_GROWTH)
    if (fit.kind === 'too-few-values') break
    if (fit.kind === 'refused') {
      reason = fit.reason
      if (fit.changeIndex > 0 && cutAt(design, state, fit.changeIndex, later)) continue
      break
    }
    adopt(design, state, fit, reason)
    break
  }
  if (reason !== '') {
    state.reason = reason
    if (!state.limited) state.status = 'refused'
  }
  // What came after the change is judged by what was learned before it.
  if (state.limited && later.values.length > 0) replayStatistics(state, later.values, later.timesMs)
  learned.nextFit = Math.max(learned.nextFit, learned.count + 1)
  if (state.model !== null && state.limited && state.model.n >= design.baselineTarget) state.learned = null
  tellBaseline(design, state, timeMs, sink)
  return true
}

/**
 * Keeps one side of a change found inside the learned stretch: the earlier one if it can carry limits, for a machine
 * that drifts must not teach the chart; else the longer one. Returns whether another fit is worth trying.
 */
function cutAt(design: ProcessChartDesign, state: ProcessChartState, index: number, later: { values: number[]; timesMs: number[] }): boolean {
  const learned = state.learned!
  const { values, timesMs } = learned
  const keepEarlier = index * learned.block >= design.baselineMin || state.limited
  if (keepEarlier) {
    later.values.unshift(...values.splice(index))
    later.timesMs.unshift(...timesMs.splice(index))
  } else if (2 * index >= values.length) {
    values.length = timesMs.length = index
  } else {
    values.splice(0, index)
    timesMs.splice(0, index)
  }
  const removed = learned.count - values.length * learned.block
  learned.count -= removed
  forgetTail(learned, removed)
  learned.partialSum = learned.partialCount = 0
  learned.nextFit = Math.max(design.baselineMin, Math.ceil(learned.count * FIT_GROWTH))
  if (!state.limited && values.length >= SELF_START_MIN) refreshSelfStarting(design, state)
  return keepEarlier && learned.count >= design.baselineMin
}

function adopt(design: ProcessChartDesign, state: ProcessChartState, fit: Baseline, reason: string): void {
  const learned = state.learned!
  if (learned.block > 1) {
    adoptCondensed(design, state, fit)
    return
  }
  if (!fit.modelFits && learned.count >= BATCH_DECISION_MIN) {
    formBatches(design, state, batchSizeFor(learned.values, fit.centre, followsOf(learned.timesMs)))
    return
  }
  if (fit.countEffective < design.baselineMin) return
  const model = fit.model
  state.model = {
    centre: fit.centre,
    sigma: fit.sigma,
    weights: model === undefined ? [] : model.weights.map((row) => row.slice()),
    residualSigma: model === undefined ? [] : model.residualSigma.slice(),
    lagOne: fit.lagOne,
    n: fit.countEffective,
    df: 0,
    flat: false,
  }
  learned.effectiveShare = fit.countEffective / learned.count
  takeLimits(design, state)
  if (reason === '') state.reason = design.kind === 'individuals' && isQuantised(learned.values) ? 'baseline.quantised' : ''
}

/** The buffer holds block means: they give the centre; the spread grows or shrinks with the residuals seen since. */
function adoptCondensed(design: ProcessChartDesign, state: ProcessChartState, fit: Baseline): void {
  const learned = state.learned!
  const model = state.model!
  const before = Math.max(1, learned.count - learned.tailCount)
  const scale = Math.sqrt((before + learned.tailSquares) / (before + learned.tailCount))
  model.centre = fit.centre
  model.sigma = Math.max(model.sigma * scale, floorOf(design, fit.centre))
  model.residualSigma = model.residualSigma.map((sigma) => sigma * scale)
  model.n = Math.floor(learned.effectiveShare * learned.count)
  learned.tailSquares = learned.tailCount = 0
  takeLimits(design, state)
}

function takeLimits(design: ProcessChartDesign, state: ProcessChartState): void {
  const first = !state.limited
  state.limited = true
  if (state.status !== 'accepted') state.status = 'provisional'
  useLimits(state, limitsFor(design, state, state.model!))
  if (!first) return
  state.up.fill(0)
  state.down.fill(0)
  state.points = 0
  clearRecentHistory(state.history)
}

/** A budget is a rate in time: of means of `batch` values so many fewer come, and each may be wrong so much sooner. */
function chartedArl0(design: ProcessChartDesign, state: ProcessChartState): number {
  return Math.max(CHARTED_ARL0_MIN, design.arl0 / state.batch)
}

function limitsFor(design: ProcessChartDesign, state: ProcessChartState, model: ChartModel): ChartSetLimits {
  const modelled = model.weights.length > 0
  // What is too weak to be modelled still makes sums vary more.
  const left = modelled ? 0 : Math.max(0, Math.min(0.9, model.lagOne))
  return chartSetLimits(chartedArl0(design, state), design.charts, {
    countEffective: model.df > 0 ? undefined : model.n,
    shiftShare: model.df > 0 ? 1 : levelShiftShare(model),
    longRunFactor: (1 + left) / (1 - left),
    longRunError: modelled || model.df > 0 ? Math.min(1, LONG_RUN_ERRORS / Math.sqrt(model.n)) : 0,
  })
}

function useLimits(state: ProcessChartState, limits: ChartSetLimits): void {
  state.shewhart = limits.shewhart
  for (let i = 0; i < state.k.length; i++) {
    state.k[i] = limits.cusums[i]!.k
    state.h[i] = limits.cusums[i]!.h
  }
}

/** The buffer is full: with limits it is condensed to means of pairs, without them the data are too correlated and batches are formed. */
function makeRoom(design: ProcessChartDesign, state: ProcessChartState): void {
  const learned = state.learned!
  if (!state.limited) {
    formBatches(design, state, 2)
    return
  }
  learned.values = pairMeans(learned.values)
  learned.timesMs = learned.timesMs.filter((_, i) => i % 2 === 1)
  learned.block *= 2
}

function pairMeans(values: readonly number[]): number[] {
  const means: number[] = []
  for (let i = 1; i < values.length; i += 2) means.push((values[i - 1]! + values[i]!) / 2)
  return means
}

/** From now on one charted value is the mean of `size` of the present ones. */
function formBatches(design: ProcessChartDesign, state: ProcessChartState, size: number): void {
  const learned = state.learned!
  const fresh: LearnedValues = createLearnedValues(design)
  for (let i = size; i <= learned.values.length; i += size) {
    fresh.values.push(meanOf(learned.values.slice(i - size, i)))
    fresh.timesMs.push(learned.timesMs[i - 1]!)
  }
  fresh.count = fresh.values.length
  fresh.nextFit = Math.max(design.baselineMin, fresh.count + 1)
  state.learned = fresh
  state.batch *= size
  state.batchSum = state.batchCount = state.lagCount = 0
  state.limited = false
  state.status = 'learning'
  state.reason = 'baseline.strongly-correlated'
  state.model = null
  useLimits(state, chartSetLimits(chartedArl0(design, state), design.charts, KNOWN_PARAMETERS))
  state.up.fill(0)
  state.down.fill(0)
  state.points = 0
  resetWesternElectric(state.rules)
  state.history = createRecentHistory()
  if (fresh.values.length >= SELF_START_MIN) refreshSelfStarting(design, state)
}

/** Smallest batch whose means are correlated by less than 0.1 at lag 1, or a tenth of the values. */
function batchSizeFor(values: readonly number[], centre: number, follows: readonly number[]): number {
  const sizeMax = Math.max(2, Math.floor(values.length / 10))
  for (let size = 2; size < sizeMax; size++) {
    const means: number[] = []
    const joined: number[] = []
    for (let i = size; i <= values.length; i += size) {
      means.push(meanOf(values.slice(i - size, i)))
      joined.push(follows.slice(i - size, i).includes(0) ? 0 : 1)
    }
    const [variance, covariance] = autocovariances(means, centre, new Array<number>(means.length).fill(1), joined, 1) as [number, number]
    if (Math.abs(unbiasedLagOne(covariance / variance, means.length)) < 0.1) return size
  }
  return sizeMax
}

/** Mean, spread and lag-1 autocorrelation of the few values there are. */
function refreshSelfStarting(design: ProcessChartDesign, state: ProcessChartState): void {
  const { values, timesMs } = state.learned!
  const n = values.length
  const centre = meanOf(values)
  const floor = floorOf(design, centre)
  const follows = followsOf(timesMs)
  const [variance, covariance] = autocovariances(values, centre, new Array<number>(n).fill(1), follows, 1) as [number, number]
  const sigma = Math.max(Math.sqrt((variance * n) / (n - 1)), floor)
  const flat = variance <= floor * floor * 0.25
  // Taken a little high: a correlation that is missed makes false suspicions, one that is imagined only costs delay.
  const lagOne = n >= 12 && !flat ? Math.max(0, Math.min(0.95, unbiasedLagOne(covariance / variance, n) + LAG_ONE_MARGIN / Math.sqrt(n))) : 0
  const modelled = lagOne > LAG_ONE_IGNORED
  state.gapMs = usualGap(timesMs) / state.batch
  state.model = {
    centre,
    sigma,
    weights: modelled ? [[lagOne]] : [],
    residualSigma: modelled ? [sigma * Math.sqrt(1 - lagOne * lagOne)] : [],
    lagOne,
    n: Math.max(1, Math.floor((n * (1 - lagOne)) / (1 + lagOne))),
    df: n - 1,
    flat,
  }
  useLimits(state, limitsFor(design, state, state.model))
}

/** Smallest believable sigma in charting units, near the given centre. */
function floorOf(design: ProcessChartDesign, centre: number): number {
  return design.kind === 'count' ? Math.sqrt(centre * centre + design.sigmaFloor) - Math.abs(centre) : design.sigmaFloor
}

function followsOf(timesMs: readonly number[]): number[] {
  const longest = usualGap(timesMs) * GAP_FACTOR
  return timesMs.map((timeMs, i) => (i > 0 && timeMs >= timesMs[i - 1]! && timeMs - timesMs[i - 1]! <= longest ? 1 : 0))
}

function usualGap(timesMs: readonly number[]): number {
  const gaps: number[] = []
  for (let i = 1; i < timesMs.length; i++) gaps.push(timesMs[i]! - timesMs[i - 1]!)
  return gaps.length === 0 ? 0 : Math.max(0, median(gaps))
}

function meanOf(values: readonly number[]): number {
  if (values.length === 0) return 0
  const first = values[0]!
  let sum = 0
  for (const value of values) sum += value - first
  return first + sum / values.length
}

/** Reports every step of the first values, later every fiftieth part of the target. */
function tellProgress(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, sink: ProcessChartSink): void {
  const learned = state.learned
  if (learned === null) return
  const every = learned.count < design.baselineMin ? 1 : Math.max(1, Math.round(design.baselineTarget / 50))
  if (learned.count % every === 0) tellBaseline(design, state, timeMs, sink)
}

/** Reports where the learning stands. */
export function tellBaseline(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, sink: ProcessChartSink): void {
  sink.baseline(baselineStep(design, state, timeMs))
}

export function baselineStep(design: ProcessChartDesign, state: ProcessChartState, timeMs: number): BaselineStep {
  const learning = state.learned !== null
  const suspended = learning && (state.hold || state.suspicion || state.signal !== null)
  const reason = suspended ? (state.hold ? 'baseline.on-hold' : 'baseline.suspicion') : state.reason
  const { centre, sigma } = levelInUnit(design, state)
  return {
    timeMs,
    status: suspended ? 'suspended' : state.status,
    n: effectiveCount(state),
    target: design.baselineTarget,
    centre,
    sigma,
    ...(reason === '' ? {} : { reason }),
  }
}

/** Effective values learned so far: those behind the limits, or all so far in proportion. */
export function effectiveCount(state: ProcessChartState): number {
  const { learned, model } = state
  if (learned === null) return model === null ? 0 : model.n
  if (model === null) return learned.count
  const factor = Math.max(0, model.lagOne)
  const independent = Math.floor((learned.count * (1 - factor)) / (1 + factor))
  return state.limited ? Math.max(model.n, independent) : independent
}

/** Centre and sigma in the feature's own unit; zeros before there are any. */
export function levelInUnit(design: ProcessChartDesign, state: ProcessChartState): { centre: number; sigma: number } {
  const model = state.model
  if (model === null) return { centre: 0, sigma: 0 }
  if (design.kind !== 'count') return { centre: model.centre, sigma: model.sigma }
  return { centre: Math.max(0, model.centre * model.centre - 0.375), sigma: 2 * model.centre * model.sigma }
}
