/** State of one generator: four unsigned 32-bit words and the spare of the last Gaussian pair. */
const WARM_UP_DRAWS = 12
const TO_UNIT = 1 / 4_294_967_296

/**
 * Seeded random numbers (sfc32). Each part of the simulated line owns a stream named after it, so that a part that draws
 * more, or a new part, leaves every other part's numbers as they were.
 */
export class RandomStream {
  private a: number
  private b: number
  private c: number
  private counter = 1
  private spare = 0
  private hasSpare = false

  /**
   * @param seed any safe integer
   * @param name name of the stream, e.g. "zone-2.turbulence"
   * @throws Error when the seed is not a safe integer
   */
  constructor(seed: number, name: string) {
    if (!Number.isSafeInteger(seed)) throw new Error(`seed is ${String(seed)}: expected a whole number`)
    const mix = wordMixer(`${name} ${String(seed)}`)
    this.a = mix()
    this.b = mix()
    this.c = mix()
    for (let draw = 0; draw < WARM_UP_DRAWS; draw += 1) this.next()
  }

  /** Uniform in [0, 1). */
  next(): number {
    const sum = (this.a + this.b + this.counter) | 0
    this.counter = (this.counter + 1) | 0
    this.a = this.b ^ (this.b >>> 9)
    this.b = (this.c + (this.c << 3)) | 0
    this.c = ((this.c << 21) | (this.c >>> 11)) + sum | 0
    return (sum >>> 0) * TO_UNIT
  }

  /** Standard normal (polar method: two per accepted pair). */
  gaussian(): number {
    if (this.hasSpare) {
      this.hasSpare = false
      return this.spare
    }
    let u = 0
    let v = 0
    let square = 0
    do {
      u = 2 * this.next() - 1
      v = 2 * this.next() - 1
      square = u * u + v * v
    } while (square >= 1 || square === 0)
    const factor = Math.sqrt((-2 * Math.log(square)) / square)
    this.spare = v * factor
    this.hasSpare = true
    return u * factor
  }

  uniform(lower: number, upper: number): number {
    return lower + (upper - lower) * this.next()
  }

  /** Log-uniform between two positive bounds: a factor of 2 up is as likely as a factor of 2 down. */
  logUniform(lower: number, upper: number): number {
    return lower * Math.exp(Math.log(upper / lower) * this.next())
  }

  /** Log-normal around 1 with a spread factor: about two in three draws lie within 1/factor .. factor. */
  logNormal(spreadFactor: number): number {
    return Math.exp(Math.log(spreadFactor) * this.gaussian())
  }

  /** Whole number from lower to upper, both included. */
  integer(lower: number, upper: number): number {
    return lower + Math.floor(this.next() * (upper - lower + 1))
  }

  chance(probability: number): boolean {
    return this.next() < probability
  }

  /** Time to the next event of a Poisson stream, in the unit of 1/rate; Infinity when the rate is 0. */
  waitingTime(rate: number): number {
    return rate > 0 ? -Math.log(1 - this.next()) / rate : Infinity
  }

  /** @throws Error when there is nothing to pick from */
  pick<T>(items: readonly T[]): T {
    const item = items[Math.floor(this.next() * items.length)]
    if (item === undefined) throw new Error('nothing to pick from: expected a list with at least one item')
    return item
  }

  /** Poisson count by inversion of the waiting times; meant for small means (below about 20). */
  poisson(mean: number): number {
    const limit = Math.exp(-mean)
    let count = 0
    let product = this.next()
    while (product > limit) {
      count += 1
      product *= this.next()
    }
    return count
  }

  /** Gamma with the given shape and scale (Marsaglia and Tsang's method, boosted below shape 1). */
  gamma(shape: number, scale: number): number {
    if (shape < 1) return this.gamma(shape + 1, scale) * Math.pow(1 - this.next(), 1 / shape)
    const d = shape - 1 / 3
    const c = 1 / Math.sqrt(9 * d)
    for (;;) {
      const x = this.gaussian()
      const v = (1 + c * x) ** 3
      if (v <= 0) continue
      if (Math.log(1 - this.next()) < 0.5 * x * x + d - d * v + d * Math.log(v)) return d * v * scale
    }
  }
}

/** Hashes a text into a row of 32-bit words (FNV-1a, then a finalising mix for each word). */
function wordMixer(text: string): () => number {
  let hash = 0x811c9dc5
  for (let index = 0; index < text.length; index += 1) {
    hash ^= text.charCodeAt(index)
    hash = Math.imul(hash, 0x01000193)
  }
  return () => {
    hash = (hash + 0x9e3779b9) | 0
    let word = hash
    word = Math.imul(word ^ (word >>> 16), 0x21f0aaad)
    word = Math.imul(word ^ (word >>> 15), 0x735a2d97)
    return word ^ (word >>> 15)
  }
}
