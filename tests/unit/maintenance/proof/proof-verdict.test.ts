import { describe, expect, it } from 'vitest'
import { LOOKS, proofVerdict, type ProofSeries, type ProofStratum } from '../../../../src/maintenance/proof/proof-verdict.js'
import { RandomStream } from '../../../../src/simulator/random-stream.js'

const REFERENCE = { centre: 10, sigma: 1, n: 100 }

/** Values of an AR(1) process about a level, in sigmas of the reference. */
function values(level: number, count: number, random: RandomStream, { phi = 0, drift = 0 } = {}): number[] {
  let state = random.gaussian()
  return Array.from({ length: count }, (_, i) => {
    state = phi * state + Math.sqrt(1 - phi * phi) * random.gaussian()
    return level + drift * (i - count + 1) + state
  })
}

function series(strata: readonly ProofStratum[], change: Partial<ProofSeries> = {}): ProofSeries {
  return { feature: 'conveyor.current.warm', mechanism: 'chain-drag', bad: 'up', strength: 2, rare: false, sigmaFloor: 0.01, strata, controls: [], ...change }
}

const ask = (strata: readonly ProofStratum[], change: Partial<ProofSeries> = {}, rest = {}) => proofVerdict({ series: [series(strata, change)], followUpMissing: false, ...rest })
const from = (before: number[], after: number[], reference: ProofStratum['reference'] = REFERENCE): ProofStratum[] => [{ recipe: 'a', before, after, ...(reference === undefined ? {} : { reference }) }]

describe('the verdict on a job', () => {
  it('is "helped" where the level comes back to its reference', () => {
    const random = new RandomStream(1, 'helped')
    const answer = ask(from(values(15, 30, random), values(10, 12, random)))
    expect(answer).toMatchObject({ verdict: 'helped', because: ['proof.better'], better: [{ feature: 'conveyor.current.warm', side: 'down' }] })
    expect(answer.compared[0]!.probability).toBeGreaterThan(0.99)
  })

  it('is "did not help" where the change stands as before', () => {
    const random = new RandomStream(2, 'stands')
    expect(ask(from(values(15, 30, random), values(15, 24, random)))).toMatchObject({ verdict: 'did-not-help', because: ['proof.no-better'] })
  })

  it('is "was clean" where it stood at its reference before and after', () => {
    const random = new RandomStream(3, 'clean')
    expect(ask(from(values(10, 36, random), values(10, 48, random)))).toMatchObject({ verdict: 'was-clean', because: ['proof.at-reference-before'] })
  })

  it('says that a channel does not see the dirt that people found', () => {
    const random = new RandomStream(3, 'clean')
    expect(ask(from(values(10, 36, random), values(10, 48, random)), {}, { finding: 3 })).toMatchObject({ verdict: 'no-channel', because: ['proof.dirt-not-seen'] })
  })

  it('is "too early" before enough windows have come, and says how many are wanted', () => {
    const random = new RandomStream(4, 'early')
    const answer = ask(from(values(15, 30, random), values(10, LOOKS[0] - 2, random)))
    expect(answer).toMatchObject({ verdict: 'too-early', wanted: { feature: 'conveyor.current.warm', windows: 2 } })
  })

  it('is "did not help" where it became worse, and names the follow-up that is missing', () => {
    const random = new RandomStream(5, 'worse')
    const strata = from(values(10, 30, random), values(15, 12, random))
    expect(ask(strata)).toMatchObject({ verdict: 'did-not-help', because: ['proof.worse-after'] })
    expect(ask(strata, {}, { followUpMissing: true }).because).toEqual(['proof.worse-after', 'proof.follow-up-missing'])
  })

  it('of a line installed dirty is "helped", better than the reference', () => {
    const random = new RandomStream(6, 'dirty')
    const answer = ask(from(values(10, 30, random), values(5, 12, random)))
    expect(answer).toMatchObject({ verdict: 'helped', because: ['proof.better', 'proof.better-than-reference'], betterThanReference: ['conveyor.current.warm'] })
  })

  it('says "partly" where most of the change is left', () => {
    const random = new RandomStream(7, 'partly')
    expect(ask(from(values(20, 30, random), values(15, 12, random))).because).toEqual(['proof.better', 'proof.partly'])
  })

  it('does not credit a job with what zones without any work did as well', () => {
    const random = new RandomStream(8, 'others')
    const strata = from(values(15, 30, random), values(10, 12, random))
    const other = from(values(14, 30, random), values(10, 12, random))
    expect(ask(strata, { controls: [other, other] })).toMatchObject({ verdict: 'not-attributable', because: ['proof.others-moved-too'] })
    const quiet = from(values(10, 30, random), values(10, 12, random))
    expect(ask(strata, { controls: [quiet, quiet] }).verdict).toBe('helped')
  })

  it('takes the side of a feature that can go either way from where it stood', () => {
    const random = new RandomStream(9, 'either')
    expect(ask(from(values(5, 30, random), values(10, 12, random)), { bad: 'either' })).toMatchObject({ verdict: 'helped', better: [{ side: 'up' }] })
  })

  it('does not take a fall that was under way for help', () => {
    const random = new RandomStream(10, 'falling')
    // falls by 0.3 sigma a window before and stands where it had come to
    const before = values(12, 36, random, { drift: -0.3 })
    expect(ask(from(before, values(12, 24, random))).verdict).not.toBe('helped')
  })

  it('is the same in any unit', () => {
    const random = new RandomStream(11, 'unit')
    const before = values(15, 30, random)
    const after = values(10, 12, random)
    const scaled = (list: number[]): number[] => list.map((value) => 0.004 * value - 3)
    const plain = ask(from(before, after))
    const other = ask([{ recipe: 'a', before: scaled(before), after: scaled(after), reference: { centre: 0.04 - 3, sigma: 0.004, n: 100 } }], { sigmaFloor: 0.00004 })
    expect(other.verdict).toBe(plain.verdict)
    expect(other.compared[0]!.probability).toBeCloseTo(plain.compared[0]!.probability, 6)
  })

  it('is the same at every recipe speed, though levels and scatter differ', () => {
    const random = new RandomStream(12, 'speeds')
    const at = (centre: number, sigma: number): ProofStratum => {
      const around = (level: number, count: number): number[] => values(0, count, random).map((value) => centre + sigma * (level + value))
      return { recipe: String(centre), before: around(5, 30), after: around(0, 8), reference: { centre, sigma, n: 80 } }
    }
    const single = [at(0.7, 0.004), at(0.9, 0.006), at(1.3, 0.02)]
    for (const stratum of single) expect(ask([stratum], { sigmaFloor: 0.002 }).verdict).toBe('helped')
    expect(ask(single, { sigmaFloor: 0.002 }).verdict).toBe('helped')
  })
})

describe('error rates of the verdict over all its looks', () => {
  const cases = 300
  function verdicts(before: number, after: number, phi: number): Record<string, number> {
    const counts: Record<string, number> = {}
    for (let seed = 0; seed < cases; seed += 1) {
      const random = new RandomStream(seed, `rates ${before} ${after} ${phi}`)
      const old = values(before, 36, random, { phi })
      const young = values(after, 48, random, { phi })
      const verdict = LOOKS.map((look) => ask(from(old, young.slice(0, look))).verdict).find((one) => one !== 'too-early') ?? 'too-early'
      counts[verdict] = (counts[verdict] ?? 0) + 1 / cases
    }
    return counts
  }

  it.each([0, 0.5, 0.8])('a job that changes nothing is called a help in at most one of twenty cases (lag-1 %s)', (phi) => {
    expect(verdicts(10, 10, phi)['helped'] ?? 0).toBeLessThanOrEqual(0.05)
    expect(verdicts(14, 14, phi)['helped'] ?? 0).toBeLessThanOrEqual(0.05)
  })

  it.each([0, 0.5])('a job that takes five sigmas away is called a help nearly always (lag-1 %s)', (phi) => {
    const counts = verdicts(15, 10, phi)
    expect(counts['helped'] ?? 0).toBeGreaterThanOrEqual(0.9)
    expect(counts['did-not-help'] ?? 0).toBeLessThanOrEqual(0.05)
  })

  it('what stands five sigmas off as before is called no help nearly always', () => {
    const counts = verdicts(15, 15, 0)
    expect(counts['did-not-help'] ?? 0).toBeGreaterThanOrEqual(0.9)
  })
})
