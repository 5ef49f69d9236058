import { MOVING_RANGE_D2 } from './constants.js'
import { checkSigmaMultiple, plotted, type PlottedPoint, type TooFewSamples } from './control-limits.js'

/**
 * Charts of counted things. `p`: defectives as a share of the sample; `np`: their number in samples of one size;
 * `c`: defects per sample of one size; `u`: defects per unit of area, length or number.
 */
export type AttributeChartKind = 'p' | 'np' | 'c' | 'u'

export interface AttributeSample {
  readonly count: number
  /** Items inspected (p, np), or units (u); 1 for c. Above 0. */
  readonly size: number
}

export interface AttributeLimits {
  readonly kind: 'limits'
  readonly chart: AttributeChartKind
  /** Share of defectives (p, np) or defects per unit (c, u) over the whole baseline. */
  readonly rate: number
  /** Laney's sigma of the z values: 1 for binomial/Poisson counts, above 1 when samples differ by more than that. Charts without Laney's correction use 1. */
  readonly overdispersion: number
  readonly sigmaMultiple: number
  readonly sampleCount: number
}

/**
 * Limits from a baseline of samples in time order.
 *
 * @param options.laney true for the p' and u' charts: limits widened (or narrowed) by the sigma of the standardised
 *   values, from their mean moving range; for large samples whose rate itself varies from sample to sample
 * @see NIST/SEMATECH e-Handbook 6.3.3; Laney, Improved control charts for attributes, Quality Engineering 14 (2002) 531
 * @throws Error if a count is negative, exceeds its sample (p, np), or a size is not above 0 (or differs, for np and c)
 */
export function attributeLimits(chart: AttributeChartKind, samples: readonly AttributeSample[], options: { readonly laney?: boolean; readonly sigmaMultiple?: number } = {}): AttributeLimits | TooFewSamples {
  const { laney = false, sigmaMultiple = 3 } = options
  checkSigmaMultiple(`${chart} chart`, sigmaMultiple)
  for (const sample of samples) checkSample(chart, sample)
  if (samples.length < 2) return { kind: 'too-few-samples', sampleCount: samples.length, sampleCountMin: 2 }
  if ((chart === 'np' || chart === 'c') && samples.some((sample) => sample.size !== samples[0]!.size)) throw new Error(`${chart} chart: samples of one size expected; use ${chart === 'np' ? 'p' : 'u'} where sizes differ`)
  let count = 0
  let size = 0
  for (const sample of samples) {
    count += sample.count
    size += sample.size
  }
  const rate = count / size
  const plain: AttributeLimits = { kind: 'limits', chart, rate, overdispersion: 1, sigmaMultiple, sampleCount: samples.length }
  if (!laney) return plain
  let ranges = 0
  let before = 0
  samples.forEach((sample, i) => {
    const z = standardised(plain, sample)
    if (i > 0) ranges += Math.abs(z - before)
    before = z
  })
  return { ...plain, overdispersion: ranges / (samples.length - 1) / MOVING_RANGE_D2 }
}

/** Plots one sample; without memory. The statistic is a share (p), a number (np, c) or defects per unit (u). */
export function stepAttribute(limits: AttributeLimits, sample: AttributeSample): PlottedPoint {
  checkSample(limits.chart, sample)
  const scale = limits.chart === 'np' || limits.chart === 'c' ? sample.size : 1
  const centre = limits.rate * scale
  const sigma = rateSigma(limits, sample.size) * scale * limits.overdispersion
  const reach = limits.sigmaMultiple * sigma
  const highest = limits.chart === 'p' ? 1 : limits.chart === 'np' ? sample.size : Number.MAX_VALUE
  return plotted((sample.count / sample.size) * scale, { centre, sigma, lower: Math.max(0, centre - reach), upper: Math.min(highest, centre + reach) })
}

/** Distance of a sample from the centre line in binomial or Poisson sigmas; 0 where the rate leaves no variation. */
export function standardised(limits: AttributeLimits, sample: AttributeSample): number {
  const sigma = rateSigma(limits, sample.size)
  return sigma > 0 ? (sample.count / sample.size - limits.rate) / sigma : 0
}

function rateSigma(limits: AttributeLimits, size: number): number {
  const binomial = limits.chart === 'p' || limits.chart === 'np'
  return Math.sqrt((limits.rate * (binomial ? 1 - limits.rate : 1)) / size)
}

function checkSample(chart: AttributeChartKind, sample: AttributeSample): void {
  const { count, size } = sample
  if (!(Number.isFinite(size) && size > 0)) throw new Error(`${chart} chart: a sample size above 0 expected, found ${size}`)
  if (!(Number.isFinite(count) && count >= 0)) throw new Error(`${chart} chart: a count of 0 or above expected, found ${count}`)
  if ((chart === 'p' || chart === 'np') && count > size) throw new Error(`${chart} chart: at most ${size} defectives in a sample of ${size} expected, found ${count}`)
}
