import type { Diagnosis } from '../../line/diagnosis.js'
import type { CleaningHistory } from '../../line/diagnosis/cause-priors.js'
import { FAULT_FACTS } from '../../line/diagnosis/cause-priors.js'
import { featureCatalogue, type FeatureSpec } from '../../line/features/feature-catalogue.js'
import type { LineDefinition } from '../../line/line-definition.js'
import type { LineStateChange } from '../../line/state/line-state-change.js'
import type { MaintenanceFact } from '../maintenance-fact.js'
import type { ChartedValue, LearnedLevel, MaintenanceAsks, MaintenanceContext, MaintenancePart } from '../maintenance-part.js'
import type { Suggestion, WorkRecord } from '../suggestion.js'
import { isActive } from '../suggestion-replies.js'
import { siteCatalogue } from '../site-catalogue.js'
import type { WorkKind } from '../work-catalogue.js'
import { disturbanceOf } from './disturbances.js'
import { handChecksOf, type HandCheckResult } from './hand-checks.js'
import { mendedBy, proofFeatures } from './proof-features.js'
import type { ProofFact } from './proof-fact.js'
import { noteValue } from './proof-history.js'
import { judgeCase, openCase, takeAfter } from './proof-case.js'
import { newProofState, type ProofCase, type ProofState, type ProvenWork } from './proof-state.js'
import { referenceFacts } from './reference-offers.js'

const PROVEN_KINDS: readonly WorkKind[] = ['cleaning', 'lubrication', 'adjustment', 'repair']
const HOUR_MS = 3_600_000
const DAY_MS = 24 * HOUR_MS
const WORKS_KEPT = 200
const WORKS_KEPT_MS = 60 * DAY_MS
const CASES_OPEN_MAX = 16
const FACTS_KEPT = 150
const SUGGESTIONS_KEPT = 60
const PRODUCING_KEPT = 600
/** A cause that a job did not mend stays unlikely for so long. [ASM] */
const DOUBT_MS = 14 * DAY_MS
/** A hand check counts for a job done at most so long before it. [ASM] */
const HAND_CHECK_MS = 3 * DAY_MS
/** What got better after a job that helped is explained by it for so long; by then a new reference should be taken. [ASM] */
const EXPLAINS_MS = 60 * DAY_MS
/** What moves further than this from where the job left it is another story. [ASM] */
const EXPLAINS_SIGMA = 3
/** A job without a duration is taken to have lasted so long. [ASM] */
const USUAL_MINUTES = 60
const MINUTES_MAX = 12 * 60

/** Proves whether recorded work helped; see `proofVerdict` for the rules. Registered as `proof`. */
export function createProofPart(definition: LineDefinition, snapshot: unknown): MaintenancePart {
  const known = snapshot as ProofState | undefined
  const state = known?.version === 1 ? (JSON.parse(JSON.stringify(known)) as ProofState) : newProofState()
  return new ProofPart(definition, state)
}

class ProofPart implements MaintenancePart {
  private readonly specOf: ReadonlyMap<string, FeatureSpec>

  constructor(
    private readonly definition: LineDefinition,
    private readonly kept: ProofState,
  ) {
    this.specOf = new Map(featureCatalogue(definition).map((spec) => [spec.feature, spec]))
  }

  snapshot(): unknown {
    return JSON.parse(JSON.stringify(this.kept)) as ProofState
  }

  value({ value, recipe }: ChartedValue): void {
    if (!this.specOf.has(value.feature) || value.weight <= 0) return
    noteValue(this.kept.histories, value.feature, recipe, value.timeMs, value.value)
    for (const one of this.kept.cases) takeAfter(one, value.feature, recipe, value.timeMs, value.value)
  }

  level(level: LearnedLevel): void {
    const key = `${level.feature} ${level.recipe}`
    const known = this.kept.levels[key]
    const learnsAnew = known === undefined || level.n < known.n / 2
    if (level.status === 'suspended' && known !== undefined) return
    this.kept.levels[key] = { centre: level.centre, sigma: level.scatter ?? level.sigma, n: level.n, usable: (level.status === 'provisional' || level.status === 'accepted') && level.sigma > 0, sinceMs: learnsAnew ? level.timeMs : known.sinceMs }
  }

  state({ timeMs, state }: LineStateChange): void {
    const { producing } = this.kept
    const on = state === 'production' || state === 'run-in'
    if (producing.at(-1)?.on === on) return
    producing.push({ timeMs, on })
    if (producing.length > PRODUCING_KEPT) producing.shift()
  }

  suggestion(suggestion: Suggestion): void {
    const { id, section, zone, work, statusMs } = suggestion
    this.kept.suggestions = [...this.kept.suggestions.filter((other) => other.id !== id), { id, section, ...(zone === undefined ? {} : { zone }), work, statusMs, active: isActive(suggestion) }].slice(-SUGGESTIONS_KEPT)
  }

  record(record: WorkRecord, context: MaintenanceContext, asks: MaintenanceAsks): void {
    this.take(record, context, asks)
  }

  fact(fact: MaintenanceFact, context: MaintenanceContext, asks: MaintenanceAsks): void {
    if (fact.type === 'record') {
      if (fact.withdrawn) this.withdraw(fact.record.id, context, asks)
      else this.take(fact.record, context, asks)
    }
    if (fact.type === 'change') {
      const disturbance = fact.withdrawn === true ? undefined : disturbanceOf(fact)
      this.kept.disturbances = [...this.kept.disturbances.filter(({ id }) => id !== fact.id), ...(disturbance === undefined ? [] : [{ id: fact.id, ...disturbance }])].slice(-WORKS_KEPT)
    }
    if (fact.type === 'round') for (const item of fact.items) this.handCheck({ check: item.check, passed: item.ok && !fact.exceptions.some(({ check, zone }) => check === item.check && zone === item.zone), timeMs: fact.timeMs, ...(item.zone === undefined ? {} : { zone: item.zone }) }, asks)
  }

  tick(_evidence: unknown, context: MaintenanceContext, asks: MaintenanceAsks): void {
    for (const one of [...this.kept.cases]) this.judge(one, context, asks)
    for (const fact of referenceFacts(this.kept, this.definition, this.specOf, context.nowMs)) {
      const said = JSON.stringify({ ...fact, timeMs: 0, offers: fact.offers.map(({ feature, recipe }) => `${feature} ${recipe}`) })
      if (this.kept.references[fact.id] === said) continue
      this.kept.references[fact.id] = said
      asks.emit(fact)
    }
  }

  explains(diagnosis: Diagnosis, { nowMs }: MaintenanceContext): boolean {
    const moved = diagnosis.evidence.filter(({ feature, key }) => diagnosis.features.includes(feature) && (key === 'evidence.up' || key === 'evidence.down'))
    return moved.length > 0 && moved.every(({ feature, key, values }) => this.gotBetter(feature, key === 'evidence.up' ? 'up' : 'down', levelIn(values), diagnosis.onsetMs, nowMs))
  }

  /** Whether a job that helped moved a feature to this side, and it still stands about where the job left it. */
  private gotBetter(feature: string, side: 'up' | 'down', levelNow: number | undefined, onsetMs: number, nowMs: number): boolean {
    return this.kept.facts.some((fact) => {
      if (fact.verdict !== 'helped' || nowMs - fact.doneMs > EXPLAINS_MS || onsetMs < fact.doneMs - DAY_MS) return false
      const compared = fact.compared.filter((one) => one.feature === feature)
      const change = compared.reduce((sum, one) => sum + (one.after - one.before) / Math.max(Number.MIN_VALUE, one.sigma), 0)
      const near = levelNow === undefined || compared.some((one) => Math.abs(levelNow - one.after) <= EXPLAINS_SIGMA * one.sigma)
      return compared.length > 0 && near && Math.abs(change) >= compared.length && change > 0 === (side === 'up')
    })
  }

  priors({ nowMs }: MaintenanceContext): Readonly<Record<string, CleaningHistory>> {
    const priors: Record<string, CleaningHistory> = {}
    for (const fact of this.kept.facts) {
      if (fact.verdict !== 'did-not-help' || nowMs - fact.doneMs > DOUBT_MS || fact.because.includes('proof.worse-after')) continue
      for (const cause of mendedBy(fact.work, this.definition)) priors[FAULT_FACTS[cause].perZone && fact.zone !== undefined ? `${cause}/${fact.zone}` : cause] = { since: 0, interval: 1 }
    }
    return priors
  }

  private take(record: WorkRecord, context: MaintenanceContext, asks: MaintenanceAsks): void {
    const work = this.workOf(record)
    const known = this.kept.works.find((other) => other.record === work.record)
    if (known !== undefined && JSON.stringify(known) === JSON.stringify(work)) return
    this.kept.works = [...this.kept.works.filter((other) => other.record !== work.record), work].filter(({ doneMs }) => context.nowMs - doneMs < WORKS_KEPT_MS).slice(-WORKS_KEPT)
    this.kept.cases = this.kept.cases.filter((one) => one.work.record !== work.record)
    const service = `${work.section} ${work.work} ${work.zone ?? ''}`
    this.kept.services[service] = Math.max(this.kept.services[service] ?? 0, work.doneMs)
    if (!this.isProven(work.work)) return
    if (proofFeatures(this.definition, work.work, work.zone).length === 0) {
      const [verdict, because] = record.handCheck === 'passed' ? (['checked-by-hand', 'proof.hand-check-passed'] as const) : record.handCheck === 'failed' ? (['did-not-help', 'proof.hand-check-failed'] as const) : (['no-channel', 'proof.no-channel'] as const)
      this.say(work, { verdict, because: [because], compared: [] }, context.nowMs, asks)
      return
    }
    const one = openCase(work, this.kept, this.definition)
    this.kept.cases.push(one)
    this.closeOldest(context, asks)
    this.judge(one, context, asks)
  }

  /** More open jobs than can be followed: the oldest, which waits for a recipe that does not come, is given up. */
  private closeOldest(context: MaintenanceContext, asks: MaintenanceAsks): void {
    while (this.kept.cases.length > CASES_OPEN_MAX) {
      const oldest = this.kept.cases.shift()!
      this.say(oldest.work, { verdict: 'not-attributable', because: ['proof.no-like-with-like'], compared: [] }, context.nowMs, asks)
    }
  }

  /** Work that is done against a fault; samples, top-ups, looks and what cannot wait have nothing to prove. */
  private isProven(work: string): boolean {
    const kind = siteCatalogue(this.definition).item(work)?.kind
    return kind !== undefined && PROVEN_KINDS.includes(kind) && mendedBy(work, this.definition).length > 0
  }

  private workOf(record: WorkRecord): ProvenWork {
    const { id, work, section, zone, timeMs, finding, minutes } = record
    const suggestion = record.suggestion ?? this.answeredBy(record)
    const lasted = Math.min(MINUTES_MAX, minutes ?? USUAL_MINUTES) * 60_000
    return { record: id, work, section, ...(zone === undefined ? {} : { zone }), doneMs: timeMs, startMs: timeMs - lasted, ...(suggestion === undefined ? {} : { suggestion }), ...(finding === undefined ? {} : { finding }) }
  }

  /** The suggestion that a record without one answers: of its place and job, open or closed by this record. */
  private answeredBy({ work, section, zone, timeMs }: WorkRecord): string | undefined {
    return this.kept.suggestions.findLast((one) => one.section === section && one.zone === zone && one.work.includes(work) && (one.active || Math.abs(one.statusMs - timeMs) < HOUR_MS))?.id
  }

  private withdraw(record: string, { nowMs }: MaintenanceContext, asks: MaintenanceAsks): void {
    const work = this.kept.works.find((one) => one.record === record)
    if (work === undefined) return
    this.kept.works = this.kept.works.filter((one) => one.record !== record)
    this.kept.cases = this.kept.cases.filter((one) => one.work.record !== record)
    const service = `${work.section} ${work.work} ${work.zone ?? ''}`
    const others = this.kept.works.filter((one) => `${one.section} ${one.work} ${one.zone ?? ''}` === service)
    if (others.length === 0) delete this.kept.services[service]
    else this.kept.services[service] = Math.max(...others.map(({ doneMs }) => doneMs))
    this.say(work, { verdict: 'not-attributable', because: ['proof.record-withdrawn'], compared: [] }, nowMs, asks)
  }

  private judge(one: ProofCase, context: MaintenanceContext, asks: MaintenanceAsks): void {
    const answer = judgeCase(one, this.kept, this.definition, this.specOf, context.nowMs)
    this.say(one.work, answer, context.nowMs, asks)
    if (answer.verdict !== 'too-early') this.kept.cases = this.kept.cases.filter((other) => other !== one)
  }

  private handCheck(result: HandCheckResult, asks: MaintenanceAsks): void {
    for (const fact of this.kept.facts) {
      if (fact.verdict !== 'no-channel' && fact.verdict !== 'checked-by-hand') continue
      if (result.timeMs < fact.doneMs || result.timeMs - fact.doneMs > HAND_CHECK_MS) continue
      if (!handChecksOf(fact.work).includes(result.check) || (result.zone !== undefined && fact.zone !== undefined && result.zone !== fact.zone)) continue
      const work = this.kept.works.find((one) => one.record === fact.record)
      if (work !== undefined) this.say(work, result.passed ? { verdict: 'checked-by-hand', because: ['proof.hand-check-passed'], compared: [] } : { verdict: 'did-not-help', because: ['proof.hand-check-failed'], compared: [] }, result.timeMs, asks)
      return
    }
  }

  private say(work: ProvenWork, answer: Pick<ProofFact, 'verdict' | 'because' | 'compared' | 'verdictByMs' | 'with' | 'offersReference'>, nowMs: number, asks: MaintenanceAsks): void {
    const id = `proof-${work.record}`
    const known = this.kept.facts.find((fact) => fact.id === id)
    const { record, section, zone, suggestion, doneMs } = work
    const fact: ProofFact = { type: 'proof', id, timeMs: nowMs, record, work: work.work, section, ...(zone === undefined ? {} : { zone }), ...(suggestion === undefined ? {} : { suggestion }), doneMs, ...answer }
    if (known !== undefined && !saysMore(known, fact)) return
    this.kept.facts = [...this.kept.facts.filter((other) => other.id !== id), fact].slice(-FACTS_KEPT)
    asks.emit(fact)
    if (suggestion !== undefined && known?.verdict !== fact.verdict) this.teach(fact, suggestion, work, asks)
  }

  /** What was found on the spot has been counted when the work was recorded; it is not counted twice. */
  private teach({ verdict }: ProofFact, suggestion: string, { finding }: ProvenWork, asks: MaintenanceAsks): void {
    const counted = finding !== undefined && finding !== 1
    if (verdict === 'did-not-help') asks.learnCause(suggestion, 'something-else')
    if (verdict === 'helped' && !counted) asks.learnCause(suggestion, 'confirmed')
    if (verdict === 'was-clean' && !counted) asks.learnCause(suggestion, 'nothing-found')
  }
}

/** Level of a piece of evidence now, in the feature's unit, as far as it tells. */
function levelIn(values: Readonly<Record<string, number | string>>): number | undefined {
  const { centre, shift } = values
  return typeof centre === 'number' && typeof shift === 'number' ? centre + shift : undefined
}

/** A new verdict or reason, or a date that moved by more than some hours. */
function saysMore(known: ProofFact, next: ProofFact): boolean {
  if (known.verdict !== next.verdict || known.because.join() !== next.because.join() || known.doneMs !== next.doneMs || known.work !== next.work || known.zone !== next.zone) return true
  if ((known.verdictByMs === undefined) !== (next.verdictByMs === undefined)) return true
  return known.verdictByMs !== undefined && next.verdictByMs !== undefined && Math.abs(known.verdictByMs - next.verdictByMs) > 6 * HOUR_MS
}
