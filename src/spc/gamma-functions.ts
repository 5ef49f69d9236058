/** ln sqrt(2 pi). */
const LN_SQRT_2PI = 0.9189385332046727418
const EPSILON = 2.220446049250313e-16
/** Smallest divisor let through by the continued fractions (modified Lentz). */
const TINY = 1e-300
const ITERATIONS_MAX = 100_000

/**
 * Natural logarithm of the gamma function for x above 0, relative error about 1e-15 (absolute near the zeros 1 and 2).
 *
 * Stirling's series from 12 upwards, the recurrence below.
 * @throws Error if `x` is not finite or not above 0
 */
export function logGamma(x: number): number {
  if (!(Number.isFinite(x) && x > 0)) throw new Error(`logGamma: expected a finite number above 0, got ${x}`)
  if (x === 1 || x === 2) return 0
  let shifted = x
  let product = 1
  while (shifted < 12) {
    product *= shifted
    shifted += 1
  }
  return (shifted - 0.5) * Math.log(shifted) - shifted + LN_SQRT_2PI + stirlingSeries(shifted) - Math.log(product)
}

/** Asymptotic series of ln gamma(x) - [(x - 1/2) ln x - x + ln sqrt(2 pi)], good to 1e-17 from x = 12. */
function stirlingSeries(x: number): number {
  const y = 1 / (x * x)
  return (1 / 12 - y * (1 / 360 - y * (1 / 1260 - y * (1 / 1680 - y * (1 / 1188 - y * (691 / 360360 - y / 156)))))) / x
}

/** Error of Stirling's formula for gamma(x + 1), x >= 0. */
function stirlingError(x: number): number {
  if (x === 0) return Infinity
  if (x >= 12) return stirlingSeries(x)
  return logGamma(x + 1) - (x + 0.5) * Math.log(x) + x - LN_SQRT_2PI
}

/** x ln(x/m) + m - x without loss where x is near m (Loader 2000, "Fast and accurate computation of binomial probabilities"). */
function deviance(x: number, m: number): number {
  if (Math.abs(x - m) < 0.1 * (x + m)) {
    const v = (x - m) / (x + m)
    let sum = (x - m) * v
    let term = 2 * x * v
    for (let j = 1; j < 1000; j++) {
      term *= v * v
      const next = sum + term / (2 * j + 1)
      if (next === sum) return next
      sum = next
    }
    return sum
  }
  return x * Math.log(x / m) + m - x
}

/** m^x e^-m / gamma(x + 1) for real x >= 0, m >= 0. */
export function poissonTerm(x: number, m: number): number {
  if (m === 0) return x === 0 ? 1 : 0
  if (x === 0) return Math.exp(-m)
  return Math.exp(-stirlingError(x) - deviance(x, m)) / Math.sqrt(2 * Math.PI * x)
}

/** gamma(n+1) / (gamma(x+1) gamma(n-x+1)) p^x q^(n-x) for real 0 <= x <= n, q = 1 - p given apart to keep its digits. */
export function binomialTerm(x: number, n: number, p: number, q: number): number {
  if (p === 0) return x === 0 ? 1 : 0
  if (q === 0) return x === n ? 1 : 0
  if (x === 0) return Math.exp(n * (p < 0.5 ? Math.log1p(-p) : Math.log(q)))
  if (x === n) return Math.exp(n * (q < 0.5 ? Math.log1p(-q) : Math.log(p)))
  const logShare = stirlingError(n) - stirlingError(x) - stirlingError(n - x) - deviance(x, n * p) - deviance(n - x, n * q)
  return Math.exp(logShare) * Math.sqrt(n / (2 * Math.PI * x * (n - x)))
}

/** Lower and upper regularised incomplete gamma function; they add up to 1 and each keeps its own digits. */
export interface Tails {
  readonly lower: number
  readonly upper: number
}

/** Regularised incomplete gamma functions P(a, x) and Q(a, x), a > 0, x >= 0. Series below a + 1, continued fraction above. */
export function incompleteGamma(a: number, x: number): Tails {
  if (x <= 0) return { lower: 0, upper: 1 }
  if (x === Infinity) return { lower: 1, upper: 0 }
  const front = poissonTerm(a, x)
  if (x < a + 1) {
    let term = 1
    let sum = 1
    for (let n = 1; n < ITERATIONS_MAX; n++) {
      term *= x / (a + n)
      sum += term
      if (term < sum * EPSILON) break
    }
    const lower = Math.min(1, front * sum)
    return { lower, upper: 1 - lower }
  }
  let b = x + 1 - a
  let c = 1 / TINY
  let d = 1 / b
  let h = d
  for (let i = 1; i < ITERATIONS_MAX; i++) {
    const an = -i * (i - a)
    b += 2
    d = an * d + b
    if (Math.abs(d) < TINY) d = TINY
    c = b + an / c
    if (Math.abs(c) < TINY) c = TINY
    d = 1 / d
    const factor = d * c
    h *= factor
    if (Math.abs(factor - 1) < 2 * EPSILON) break
  }
  const upper = Math.min(1, front * a * h)
  return { lower: 1 - upper, upper }
}

/** Regularised incomplete beta function I_x(a, b) and its complement, y = 1 - x given apart to keep its digits. */
export function incompleteBeta(x: number, y: number, a: number, b: number): Tails {
  if (x <= 0) return { lower: 0, upper: 1 }
  if (y <= 0) return { lower: 1, upper: 0 }
  const front = binomialTerm(a, a + b, x, y) * ((a * b) / (a + b))
  if (x < (a + 1) / (a + b + 2)) {
    const lower = Math.min(1, (front * betaFraction(x, a, b)) / a)
    return { lower, upper: 1 - lower }
  }
  const upper = Math.min(1, (front * betaFraction(y, b, a)) / b)
  return { lower: 1 - upper, upper }
}

function betaFraction(x: number, a: number, b: number): number {
  let c = 1
  let d = 1 - ((a + b) * x) / (a + 1)
  if (Math.abs(d) < TINY) d = TINY
  d = 1 / d
  let h = d
  for (let m = 1; m < ITERATIONS_MAX; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m))
    d = 1 + even * d
    if (Math.abs(d) < TINY) d = TINY
    c = 1 + even / c
    if (Math.abs(c) < TINY) c = TINY
    d = 1 / d
    h *= d * c
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1))
    d = 1 + odd * d
    if (Math.abs(d) < TINY) d = TINY
    c = 1 + odd / c
    if (Math.abs(c) < TINY) c = TINY
    d = 1 / d
    const factor = d * c
    h *= factor
    if (Math.abs(factor - 1) < 2 * EPSILON) break
  }
  return h
}
