import { requireFinite, type NoVariation, type TooFewValues } from './autocorrelation.js'
import { normalCdf, normalUpperTail } from './special-functions.js'
import { sampleOf } from './two-sample-tests.js'

export interface NormalityTest {
  readonly kind: 'normality-test'
  /** Anderson-Darling A^2, mean and standard deviation estimated. */
  readonly aSquared: number
  /** A^2 (1 + 0.75/n + 2.25/n^2). */
  readonly aSquaredAdjusted: number
  readonly p: number
}

/**
 * Anderson-Darling test of normality, mean and standard deviation estimated; p by the formulas of D'Agostino and
 * Stephens (1986), table 4.9.
 * @param values at least 8, independent, in any order
 */
export function andersonDarlingTest(values: readonly number[]): NormalityTest | TooFewValues | NoVariation {
  requireFinite('Anderson-Darling test', values)
  const n = values.length
  if (n < 8) return { kind: 'too-few-values', valueCount: n, valueCountMin: 8 }
  const { mean, variance } = sampleOf(values)
  const sigma = Math.sqrt(variance)
  if (!(sigma > 1e-15 * Math.abs(mean))) return { kind: 'no-variation' }
  const sorted = values.map((value) => (value - mean) / sigma).sort((a, b) => a - b)
  let sum = 0
  for (let i = 0; i < n; i++) {
    const lower = Math.max(normalCdf(sorted[i]!), 1e-300)
    const upper = Math.max(normalUpperTail(sorted[n - 1 - i]!), 1e-300)
    sum += (2 * i + 1) * (Math.log(lower) + Math.log(upper))
  }
  const aSquared = -n - sum / n
  const aSquaredAdjusted = aSquared * (1 + 0.75 / n + 2.25 / (n * n))
  return { kind: 'normality-test', aSquared, aSquaredAdjusted, p: pValue(aSquaredAdjusted) }
}

function pValue(a: number): number {
  if (a < 0.2) return 1 - Math.exp(-13.436 + 101.14 * a - 223.73 * a * a)
  if (a < 0.34) return 1 - Math.exp(-8.318 + 42.796 * a - 59.938 * a * a)
  if (a < 0.6) return Math.exp(0.9177 - 4.279 * a - 1.38 * a * a)
  if (a < 10) return Math.exp(1.2937 - 5.709 * a + 0.0186 * a * a)
  return 3.7e-24
}
