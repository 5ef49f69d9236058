import { describe, expect, it } from 'vitest'
import { featureCatalogue } from '../../../../src/line/features/feature-catalogue.js'
import { parseLineDefinition } from '../../../../src/line/line-definition.js'
import type { MaintenanceFact } from '../../../../src/maintenance/maintenance-fact.js'
import type { MaintenanceAsks, MaintenanceContext, MaintenancePart } from '../../../../src/maintenance/maintenance-part.js'
import type { ProofFact } from '../../../../src/maintenance/proof/proof-fact.js'
import { PROOF_REASON_KEYS, proofReasonWords } from '../../../../src/maintenance/proof/proof-words.js'
import { createProofPart } from '../../../../src/maintenance/proof/proof-part.js'
import type { ReferenceFact } from '../../../../src/maintenance/proof/reference-fact.js'
import { sectionsServiced, serviceJobs } from '../../../../src/maintenance/proof/section-service.js'
import type { WorkRecord } from '../../../../src/maintenance/suggestion.js'
import { RandomStream } from '../../../../src/simulator/random-stream.js'

const START_MS = Date.UTC(2026, 0, 5)
const WINDOW_MS = 600_000
const CURRENT = 'conveyor.current.warm'

function define(input: object = {}) {
  const parsed = parseLineDefinition({ line: 'north-1', simulated: true, channels: [{ channel: 'conveyor.speed' }, { channel: 'conveyor.current' }, { channel: 'pot.level' }, ...[1, 2, 3].map((zone) => ({ channel: `preheat.zone-${zone}.temperature` }))], ...input })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  return parsed.definition
}

/** The proof part of a line that produces without a stop; one value of the drive current every ten minutes. */
class ProofBench {
  readonly definition = define()
  part: MaintenancePart = createProofPart(this.definition, undefined)
  readonly facts: MaintenanceFact[] = []
  readonly learned: [string, string][] = []
  window = 0
  private readonly random = new RandomStream(1, 'proof-bench')
  private readonly asks: MaintenanceAsks = { emit: (fact) => void this.facts.push(fact), chart: () => undefined, learnCause: (suggestion, found) => void this.learned.push([suggestion, found]) }

  constructor() {
    this.part.state?.({ timeMs: START_MS, state: 'production', previous: 'off', recipe: 'a', because: 'test' }, this.context, this.asks)
    this.part.level?.({ feature: CURRENT, recipe: 'a', timeMs: START_MS, status: 'accepted', n: 100, centre: 0.76, sigma: 0.01 }, this.context, this.asks)
  }

  get nowMs(): number {
    return START_MS + this.window * WINDOW_MS
  }

  private get context(): MaintenanceContext {
    return { nowMs: this.nowMs, state: 'production', recipe: 'a', definition: this.definition }
  }

  run(windows: number, level: number, recipe = 'a', feature = CURRENT): this {
    for (let i = 0; i < windows; i += 1) {
      this.window += 1
      this.part.value?.({ value: { feature, timeMs: this.nowMs, value: level + 0.01 * this.random.gaussian(), weight: 1 }, recipe, state: 'production' }, this.context, this.asks)
      this.part.tick?.([], this.context, this.asks)
    }
    return this
  }

  record(work: string, rest: Partial<WorkRecord> = {}): this {
    this.part.record?.({ id: `${work}-${this.window}`, timeMs: this.nowMs, section: 'transport', work, minutes: 0, ...rest }, this.context, this.asks)
    return this
  }

  fact(fact: MaintenanceFact): this {
    this.part.fact?.(fact, this.context, this.asks)
    return this
  }

  restart(): this {
    this.part = createProofPart(this.definition, JSON.parse(JSON.stringify(this.part.snapshot())))
    return this
  }

  proof(work: string): ProofFact {
    const found = this.facts.findLast((fact): fact is ProofFact => fact.type === 'proof' && fact.work === work)
    if (found === undefined) throw new Error(`no proof of ${work}`)
    return found
  }

  reference(section: string): ReferenceFact {
    return this.facts.findLast((fact): fact is ReferenceFact => fact.type === 'reference' && fact.section === section)!
  }

  get context_(): MaintenanceContext {
    return this.context
  }
}

describe('the proof of a recorded job', () => {
  it('judges nothing within the run-in and then says that it helped', () => {
    const bench = new ProofBench().run(40, 0.85).record('clean-rails').run(8, 0.76)
    expect(bench.proof('clean-rails')).toMatchObject({ verdict: 'too-early' })
    // the run-in takes nine windows; six more are the first look
    expect(bench.run(6, 0.76).proof('clean-rails').verdict).toBe('too-early')
    expect(bench.run(3, 0.76).proof('clean-rails')).toMatchObject({ verdict: 'helped', id: bench.proof('clean-rails').id })
    expect(bench.facts.filter((fact) => fact.type === 'proof')).toHaveLength(2)
  })

  it('teaches the cause of the suggestion it answered: confirmed, something else, or nothing found', () => {
    const suggestion = { id: 's1', section: 'transport', work: ['clean-rails'], statusMs: START_MS, status: 'open', causes: [] } as never
    const outcome = (after: number, before = 0.85): [string, string][] => {
      const bench = new ProofBench().run(40, before)
      bench.part.suggestion?.(suggestion, bench.context_, undefined as never)
      bench.record('clean-rails').run(60, after)
      return bench.learned
    }
    expect(outcome(0.76)).toEqual([['s1', 'confirmed']])
    expect(outcome(0.85)).toEqual([['s1', 'something-else']])
    expect(outcome(0.76, 0.76)).toEqual([['s1', 'nothing-found']])
  })

  it('makes what it did not help less likely, so that its look-alikes rise', () => {
    const bench = new ProofBench().run(40, 0.85).record('clean-rails').run(60, 0.85)
    expect(bench.proof('clean-rails').verdict).toBe('did-not-help')
    expect(bench.part.priors?.(bench.context_)).toEqual({ 'dirty-rails': { since: 0, interval: 1 } })
  })

  it('explains a change for the better after it, and nothing else', () => {
    const bench = new ProofBench().run(40, 0.76).record('clean-rails').run(20, 0.7)
    expect(bench.proof('clean-rails').verdict).toBe('helped')
    const diagnosis = (key: string) => ({ timeMs: bench.nowMs, onsetMs: bench.nowMs - 3_600_000, features: [CURRENT], evidence: [{ feature: CURRENT, stance: 'for', key, values: {} }] }) as never
    expect(bench.part.explains?.(diagnosis('evidence.down'), bench.context_)).toBe(true)
    expect(bench.part.explains?.(diagnosis('evidence.up'), bench.context_)).toBe(false)
  })

  it('compares only like with like: values of another recipe do not count', () => {
    const bench = new ProofBench().run(40, 0.85, 'a').record('clean-rails').run(40, 0.6, 'b')
    expect(bench.proof('clean-rails')).toMatchObject({ verdict: 'too-early' })
    expect(bench.run(10, 0.76, 'a').proof('clean-rails').compared.map(({ recipe }) => recipe)).toEqual(['a'])
  })

  it('is not attributed when a set-point was changed in between, and says so', () => {
    const bench = new ProofBench().run(40, 0.85).record('clean-rails').run(2, 0.76)
    bench.fact({ type: 'change', id: 'c', timeMs: bench.nowMs, change: 'set-point', source: 'channel', channel: 'conveyor.setpoint', from: 20, to: 22 } as never)
    expect(bench.run(20, 0.76).proof('clean-rails')).toMatchObject({ verdict: 'not-attributable', because: ['proof.set-point-changed'] })
  })

  it('is not disturbed by a set-point of another section', () => {
    const bench = new ProofBench().run(40, 0.85).record('clean-rails').run(2, 0.76)
    bench.fact({ type: 'change', id: 'c', timeMs: bench.nowMs, change: 'set-point', source: 'channel', channel: 'preheat.zone-2.setpoint', from: 130, to: 135 } as never)
    expect(bench.run(20, 0.76).proof('clean-rails').verdict).toBe('helped')
  })

  it('goes by the first job when a second comes long after it, and by what lies between for the second', () => {
    const bench = new ProofBench().run(40, 0.9).record('clean-rails').run(30, 0.83).record('repair-drive').run(30, 0.76)
    expect(bench.proof('clean-rails').verdict).toBe('helped')
    expect(bench.proof('repair-drive').verdict).toBe('helped')
    expect(bench.proof('repair-drive').compared[0]!.before).toBeCloseTo(0.83, 1)
  })

  it('takes a record that comes late at its own time, and a correction for what it says', () => {
    const bench = new ProofBench().run(40, 0.85)
    const timeMs = bench.nowMs
    bench.run(25, 0.76).record('clean-rails', { id: 'late', timeMs })
    expect(bench.proof('clean-rails')).toMatchObject({ verdict: 'helped', doneMs: timeMs })
    bench.fact({ type: 'record', id: 'r', timeMs: bench.nowMs, record: { id: 'late', timeMs, section: 'transport', work: 'clean-rails', minutes: 0 }, earlier: [], withdrawn: true })
    expect(bench.proof('clean-rails')).toMatchObject({ verdict: 'not-attributable', because: ['proof.record-withdrawn'] })
  })

  it('has no values of the time before on a new line', () => {
    expect(new ProofBench().record('clean-rails').proof('clean-rails')).toMatchObject({ verdict: 'not-attributable', because: ['proof.no-values-before'] })
  })

  it('of what no channel sees is proven by the check of a round', () => {
    const bench = new ProofBench().run(2, 0.76).record('clean-nozzle', { section: 'fluxer' })
    expect(bench.proof('clean-nozzle')).toMatchObject({ verdict: 'no-channel' })
    bench.window += 3
    bench.fact({ type: 'round', id: 'r', timeMs: bench.nowMs, round: 'day', items: [{ check: 'paper-test', ok: true }], exceptions: [], measured: [] } as never)
    expect(bench.proof('clean-nozzle')).toMatchObject({ verdict: 'checked-by-hand', because: ['proof.hand-check-passed'] })
  })

  it('goes on the same after a restart at any window', () => {
    const straight = new ProofBench().run(40, 0.85).record('clean-rails').run(20, 0.76)
    const broken = new ProofBench()
    for (let i = 0; i < 40; i += 1) broken.run(1, 0.85).restart()
    broken.record('clean-rails').restart()
    for (let i = 0; i < 20; i += 1) broken.run(1, 0.76).restart()
    expect(broken.facts).toEqual(straight.facts)
  })

  it('keeps a state that does not grow without end', () => {
    const bench = new ProofBench()
    const sizes: number[] = []
    for (let day = 0; day < 12; day += 1) {
      for (const recipe of ['a', 'b', `c${day}`]) bench.run(48, 0.8, recipe)
      bench.record('clean-rails').record('clean-fingers')
      sizes.push(JSON.stringify(bench.part.snapshot()).length)
    }
    expect(sizes.at(-1)!).toBeLessThan(2 * sizes[4]!)
  })

  it('has words for every reason in both languages', () => {
    for (const language of ['en-US', 'es'] as const) {
      for (const key of PROOF_REASON_KEYS) expect(proofReasonWords({ because: [key], with: [{ record: 'r', work: 'clean-rails', zone: 2 }], verdictByMs: START_MS }, language, 'UTC').join(' ')).not.toMatch(/[{}]|undefined/)
    }
  })
})

describe('a full service of a section', () => {
  const definition = define()
  const day = 86_400_000

  it('is complete when every cleaning job of it is recorded within two weeks', () => {
    const jobs = serviceJobs('transport', undefined, definition)
    expect(jobs).toEqual(['clean-rails', 'clean-chain', 'lubricate-chain', 'clean-fingers'])
    const works = jobs.map((work, i) => ({ work, section: 'transport', timeMs: START_MS + i * day }))
    const of = (list: typeof works) => sectionsServiced(list, definition).find(({ section }) => section === 'transport')!
    expect(of(works.slice(0, 3))).toMatchObject({ missing: ['clean-fingers'] })
    expect(of(works.slice(0, 3)).servicedMs).toBeUndefined()
    expect(of(works)).toMatchObject({ servicedMs: START_MS + 3 * day, missing: [] })
    expect(of(works.map((work, i) => ({ ...work, timeMs: START_MS + i * 10 * day }))).servicedMs).toBeUndefined()
  })

  it('can be recorded as one, and is told zone by zone in the preheat', () => {
    const services = sectionsServiced([{ work: 'full-service', section: 'preheat', zone: 2, timeMs: START_MS }], definition)
    expect(services.filter(({ servicedMs }) => servicedMs !== undefined)).toMatchObject([{ section: 'preheat', zone: 2 }])
  })

  it('ends that the reference is provisional, and offers a new one once the line has run', () => {
    const bench = new ProofBench().run(40, 0.85)
    expect(bench.reference('transport')).toMatchObject({ provisional: true })
    for (const work of serviceJobs('transport', undefined, bench.definition)) bench.record(work)
    bench.run(1, 0.76)
    expect(bench.reference('transport')).toMatchObject({ provisional: false, offers: [] })
    bench.run(25, 0.76)
    expect(bench.reference('transport').offers).toMatchObject([{ feature: CURRENT, recipe: 'a', centre: 0.76 }])
    expect(featureCatalogue(bench.definition).map(({ feature }) => feature)).toContain(CURRENT)
  })
})
