import { describe, expect, it } from 'vitest'
import type { ProofFact } from '../../../src/maintenance/proof/proof-fact.js'
import { referenceRecipe } from '../../../src/simulator/site-parameters.js'
import { serve, type ServedLine, type ServedOptions, type ServedWork } from './served-line.js'

/** Two working days: a fault grows over the first evening, the work is done in the morning of the second. */
const DAYS = 2
const WORK_H = 32
const ONSET_H = 15
const ZONES = ['preheat.zone-1.temperature', 'preheat.zone-2.temperature', 'preheat.zone-3.temperature']
const DRIVE = [...ZONES, 'conveyor.speed', 'conveyor.current', 'pot.level', 'line.recipe']
const DUTIES = [...ZONES, 'preheat.zone-1.duty', 'preheat.zone-2.duty', 'preheat.zone-3.duty', 'conveyor.speed', 'pot.level', 'board.count', 'line.recipe']
const WASH: ServedWork = { atHours: WORK_H, work: 'full-clean', causes: ['dirty-chain'], durationHours: 1, record: { work: 'clean-chain', section: 'transport' } }
const LUBRICATED = { work: 'lubricate-chain', section: 'transport' } as const

function run(options: Omit<ServedOptions, 'days'> & { readonly days?: number }): ServedLine {
  return serve({
    days: DAYS, thermalStepS: 1, channels: DRIVE, benign: { changeovers: false, breaks: false },
    periodsS: { 'preheat.zone-<n>.temperature': 20, 'preheat.zone-<n>.duty': 20, 'conveyor.speed': 5, 'conveyor.current': 5, 'pot.level': 60 },
    ...options,
  })
}

const grown = (cause: string, severityEnd = 0.8, rest = {}) => [{ cause, onsetHours: ONSET_H, growthHours: 3, severityEnd, ...rest }]

function verdictOf(line: ServedLine, work: string): ProofFact {
  const proof = line.lastOf('proof').find((fact) => fact.work === work)
  if (proof === undefined) throw new Error(`no proof of ${work}`)
  return proof
}

describe('work on a simulated line', { timeout: 90_000 }, () => {
  it('that helps is called so, and was too early to tell before, with a date', () => {
    const line = run({ faults: grown('dirty-chain'), works: [{ ...WASH, records: [LUBRICATED] }] })
    expect(verdictOf(line, 'clean-chain')).toMatchObject({ verdict: 'helped', because: ['proof.better', 'proof.with-follow-up'] })
    const [first] = line.factsOf('proof').filter((fact) => fact.work === 'clean-chain')
    expect(first).toMatchObject({ verdict: 'too-early' })
    expect(first!.verdictByMs!).toBeGreaterThan(first!.timeMs)
    // the date was kept to within half a day
    expect(Math.abs(first!.verdictByMs! - verdictOf(line, 'clean-chain').timeMs)).toBeLessThan(12 * 3_600_000)
  })

  it('that does not help is called so: a worn drive is not cured by washing the chain', () => {
    const line = run({ faults: grown('worn-drive', 0.9, { shape: 'linear' }), works: [{ ...WASH, records: [LUBRICATED] }] })
    expect(verdictOf(line, 'clean-chain')).toMatchObject({ verdict: 'did-not-help', because: ['proof.no-better', 'proof.with-follow-up'] })
  })

  it('on a clean part had nothing to gain', () => {
    const line = run({ works: [{ ...WASH, records: [LUBRICATED] }] })
    expect(verdictOf(line, 'clean-chain')).toMatchObject({ verdict: 'was-clean', because: ['proof.at-reference-before', 'proof.with-follow-up'] })
    expect(line.suggestions).toEqual([])
  })

  it('that washes the chain and does not lubricate it makes it worse, and says what is missing', () => {
    const line = run({ works: [{ ...WASH, lubricated: false }] })
    const proof = verdictOf(line, 'clean-chain')
    expect(proof).toMatchObject({ verdict: 'did-not-help', because: ['proof.worse-after', 'proof.follow-up-missing'] })
    const current = proof.compared.find(({ feature }) => feature === 'conveyor.current.warm')!
    expect(current.after).toBeGreaterThan(current.before + 10 * current.sigma)
  })

  it('that comes back to lubricate a day later is proven against the dry time between', () => {
    const line = run({ days: 3, works: [{ ...WASH, lubricated: false }, { atHours: WORK_H + 24, work: 'lubricate', causes: [], durationHours: 0.5, record: LUBRICATED }] })
    expect(verdictOf(line, 'clean-chain')).toMatchObject({ verdict: 'did-not-help', because: ['proof.worse-after', 'proof.follow-up-missing'] })
    const proof = verdictOf(line, 'lubricate-chain')
    expect(proof).toMatchObject({ verdict: 'helped', because: ['proof.better'] })
    const current = proof.compared.find(({ feature }) => feature === 'conveyor.current.warm')!
    expect(current.after).toBeLessThan(current.before - 10 * current.sigma)
  })

  it('two jobs at once are not attributed, and both say so', () => {
    const line = run({ faults: grown('dirty-chain'), works: [{ ...WASH, causes: ['dirty-chain', 'dirty-rails'], records: [LUBRICATED, { work: 'clean-rails', section: 'transport' }] }] })
    expect(verdictOf(line, 'clean-rails')).toMatchObject({ verdict: 'not-attributable', because: ['proof.two-jobs-at-once'] })
    expect(verdictOf(line, 'clean-rails').with!.map(({ work }) => work)).toContain('clean-chain')
    expect(verdictOf(line, 'clean-chain')).toMatchObject({ verdict: 'not-attributable', with: [{ work: 'clean-rails' }] })
  })

  it('on a line installed dirty is better than the reference, offers a new one and raises no suggestion', () => {
    const line = run({ faults: [{ cause: 'dirty-chain', onsetHours: 0, growthHours: 0.01, shape: 'step', severityEnd: 0.7 }], works: [{ ...WASH, records: [LUBRICATED] }, { ...WASH, atHours: 40, work: 'wipe', causes: [], durationHours: 0.2, record: { work: 'clean-rails', section: 'transport', finding: 0 }, records: [{ work: 'clean-fingers', section: 'transport', finding: 0 }] }] })
    const proof = verdictOf(line, 'clean-chain')
    expect(proof).toMatchObject({ verdict: 'helped', because: ['proof.better', 'proof.better-than-reference', 'proof.with-follow-up'] })
    expect(proof.offersReference).toContain('conveyor.current.warm')
    expect(line.suggestions.filter(({ raisedMs }) => raisedMs > proof.doneMs)).toEqual([])
    const references = line.factsOf('reference').filter(({ section }) => section === 'transport')
    expect(references[0]).toMatchObject({ provisional: true })
    expect(references.at(-1)).toMatchObject({ provisional: false, missing: [] })
    expect(references.at(-1)!.offers.map(({ feature }) => feature)).toContain('conveyor.current.warm')
  })

  it('against a benign cause does not help: less air drawn lowers the heating of all zones, not blocked vents of one', () => {
    const vents: ServedWork = { atHours: WORK_H + 24, work: 'full-clean', causes: ['blocked-vents'], zone: 2, durationHours: 1, record: { work: 'clean-vents', section: 'preheat', zone: 2 } }
    const line = run({
      days: 2.8, channels: DUTIES, works: [vents],
      benign: { changeovers: false, breaks: false, exhausts: [{ atHours: ONSET_H + 30, factor: 0.7 }] },
      periodsS: { 'preheat.zone-<n>.temperature': 30, 'preheat.zone-<n>.duty': 30, 'conveyor.speed': 10, 'pot.level': 60 },
    })
    expect(verdictOf(line, 'clean-vents')).toMatchObject({ verdict: 'did-not-help', zone: 2 })
  })

  it.each([14, 26])('gets the same verdict at a recipe speed of %s mm/s', (speedMmS) => {
    const line = run({ site: { recipes: [{ ...referenceRecipe(), speedMmS }] }, faults: grown('dirty-chain'), works: [{ ...WASH, records: [LUBRICATED] }] })
    expect(verdictOf(line, 'clean-chain')).toMatchObject({ verdict: 'helped', because: ['proof.better', 'proof.with-follow-up'] })
  })

  it('of a section no channel sees is checked by hand or said not to be seen', () => {
    const line = run({ channels: ['preheat.zone-1.temperature', 'conveyor.speed', 'pot.level'], days: 0.5, works: [{ atHours: 8, work: 'full-clean', causes: ['clogged-nozzle'], durationHours: 0, record: { work: 'clean-nozzle', section: 'fluxer' } }, { atHours: 10, work: 'repair', causes: ['leaking-seal'], durationHours: 0, record: { work: 'replace-seals', section: 'fluxer', handCheck: 'passed' } }] })
    expect(verdictOf(line, 'clean-nozzle')).toMatchObject({ verdict: 'no-channel', because: ['proof.no-channel'] })
    expect(verdictOf(line, 'replace-seals')).toMatchObject({ verdict: 'checked-by-hand', because: ['proof.hand-check-passed'] })
  })
})
