import { gaussLegendre } from './gauss-legendre.js'
import { logGamma, normalCdf } from './special-functions.js'

/**
 * P(T <= t) of the noncentral t distribution: (Z + ncp) / sqrt(chi-square / df). The normal distribution is averaged over
 * the root of chi-square by quadrature, which holds for any size of `ncp` (series overflow above about 37).
 * Absolute error about 1e-14.
 */
export function noncentralTCdf(t: number, df: number, ncp: number): number {
  if (!(Number.isFinite(t) && Number.isFinite(ncp))) throw new Error(`noncentral t: expected finite t and ncp, got ${t} and ${ncp}`)
  if (!(df >= 1 && df <= 1e7)) throw new Error(`noncentral t: expected 1 to 1e7 degrees of freedom, got ${df}`)
  // w = sqrt(chi-square / df): mean near 1, standard deviation near sqrt(1 / (2 df))
  const reach = 9 / Math.sqrt(2 * df)
  const from = Math.max(0, 1 - reach)
  const to = 1 + reach + 3 / df
  const logFront = Math.log(2) + (df / 2) * Math.log(df / 2) - logGamma(df / 2)
  // the normal distribution rises within 1/|t|: the spacing stays well below
  const { nodes, weights } = gaussLegendre(Math.min(2000, 64 + 8 * Math.ceil((Math.abs(t) * (to - from)) / 2)))
  const half = (to - from) / 2
  let sum = 0
  for (let i = 0; i < nodes.length; i++) {
    const w = from + half * (1 + nodes[i]!)
    sum += weights[i]! * half * Math.exp(logFront + (df - 1) * Math.log(w) - (df * w * w) / 2) * normalCdf(t * w - ncp)
  }
  return Math.min(1, Math.max(0, sum))
}

/**
 * The noncentrality parameter at which P(T <= t) = p: with it an interval of a mean over its standard deviation is found.
 * @param p between 0 and 1; the answer falls as p rises
 */
export function noncentralityOf(t: number, df: number, p: number): number {
  if (!Number.isFinite(t)) throw new Error(`noncentral t: expected a finite t, got ${t}`)
  if (!(p > 0 && p < 1)) throw new Error(`noncentral t: expected a probability between 0 and 1, got ${p}`)
  let low = t - 10 - Math.abs(t)
  let high = t + 10 + Math.abs(t)
  for (let step = 0; step < 200 && high - low > 1e-14 * Math.max(1, Math.abs(high)); step++) {
    const mid = 0.5 * (low + high)
    if (noncentralTCdf(t, df, mid) > p) low = mid
    else high = mid
  }
  return 0.5 * (low + high)
}
