import type { LineDefinition } from '../../line/line-definition.js'
import type { Reading } from '../../line/reading.js'
import type { LineStateChange } from '../../line/state/line-state-change.js'
import type { MaintenanceEntry } from '../maintenance-entry.js'
import type { MaintenanceFact } from '../maintenance-fact.js'
import type { MaintenanceAsks, MaintenanceContext, MaintenancePart } from '../maintenance-part.js'
import { siteCatalogue, type SiteCatalogue } from '../site-catalogue.js'
import type { Suggestion, WorkRecord } from '../suggestion.js'
import type { CorrectionEntry, JobEntry } from './job-entry.js'
import type { JobFact, RecordFact } from './job-fact.js'
import { JobList, newJob, type JobListState } from './job-list.js'
import { workForException, WORK_AFTER_CHANGE, WORK_DONE_BY_CHECK } from './job-sources.js'
import { isOpenJob, isUnderWay, refused, stepJob, stepsMissing, tooFewPeople, withJobStatus, type StepResult } from './job-steps.js'
import { peopleAtWork } from './people-at-work.js'
import type { WorkItem } from '../work-catalogue.js'
import { addRecord, correctRecord, findRecord, newestOf, wasDoneSince, type RecordBook } from './record-book.js'
import { recordRefusal, withHandCheck } from './record-check.js'
import { createUrgentWatch, urgentChanges, watchReading, watchState, type UrgentWatch } from './urgent-watch.js'

/** States in which boards travel. */
const RUNNING: readonly string[] = ['production', 'run-in']

interface JobDeskState {
  version: 1
  list: JobListState
  records: RecordBook
  watch: UrgentWatch
}

/**
 * The jobs of one line and the records of work: where jobs come from, what people do with them, what is half done, and
 * what cannot wait. State is plain data, changed in place.
 *
 * @throws Error if the snapshot is of another version, or the site's work catalogue has faults
 */
export function createJobDesk(definition: LineDefinition, snapshot: unknown): MaintenancePart {
  if (snapshot === undefined) return new JobDesk(definition, { version: 1, list: { jobs: [] }, records: [], watch: createUrgentWatch() })
  const own = JSON.parse(JSON.stringify(snapshot)) as JobDeskState
  if (own.version !== 1) throw new Error(`jobs of line "${definition.line}": snapshot version ${String(own.version)}; expected 1`)
  return new JobDesk(definition, own)
}

class JobDesk implements MaintenancePart {
  private readonly catalogue: SiteCatalogue
  private readonly list: JobList

  constructor(
    private readonly definition: LineDefinition,
    private readonly own: JobDeskState,
  ) {
    this.catalogue = siteCatalogue(definition)
    this.list = new JobList(own.list, this.catalogue)
  }

  snapshot(): unknown {
    return JSON.parse(JSON.stringify(this.own))
  }

  entry(entry: MaintenanceEntry, context: MaintenanceContext, asks: MaintenanceAsks): void {
    if (entry.type === 'job') this.takeStep(entry, context, asks)
    if (entry.type === 'correction') this.correct(entry, context, asks)
  }

  record(record: WorkRecord, context: MaintenanceContext, { emit }: MaintenanceAsks): void {
    const keep = new Set(this.list.open().flatMap((job) => (job.record === undefined ? [] : [job.record])))
    const fact = addRecord(this.own.records, record, context.nowMs, keep)
    emit(fact)
    this.advance(fact, context, emit)
    this.protect(context, emit)
    for (const work of this.catalogue.item(record.work)?.leadsTo ?? []) {
      if (!wasDoneSince(this.own.records, work, record.zone, record.timeMs)) this.raise(work, { source: 'lead', zone: record.zone, urgency: 'soon', reason: record.work }, context, emit)
    }
  }

  suggestion(suggestion: Suggestion, context: MaintenanceContext, { emit }: MaintenanceAsks): void {
    const last = suggestion.history.at(-1)
    if (suggestion.status === 'taken') {
      for (const work of suggestion.work) this.takeFromSuggestion(work, suggestion, last?.by, context, emit)
      return
    }
    if (suggestion.status === 'open') return
    for (const job of this.list.open().filter((candidate) => candidate.suggestion === suggestion.id && !isUnderWay(candidate) && candidate.urgency !== 'urgent')) {
      if (suggestion.status !== 'put-off') this.put(withJobStatus(job, 'dropped', context.nowMs, { reason: `suggestion-${suggestion.status}` }), context, emit)
      else if (last?.untilMs !== undefined && job.status !== 'put-off') this.put({ ...withJobStatus(job, 'put-off', context.nowMs, { reason: last.reason ?? 'other' }), untilMs: last.untilMs }, context, emit)
    }
  }

  fact(fact: MaintenanceFact, context: MaintenanceContext, { emit }: MaintenanceAsks): void {
    if (fact.type === 'round') {
      for (const { check } of fact.items) {
        const work = fact.exceptions.some((exception) => exception.check === check) ? undefined : WORK_DONE_BY_CHECK[check]
        const job = work === undefined ? undefined : this.list.activeOf(work, undefined)
        if (job?.source === 'change' && !isUnderWay(job)) this.put(withJobStatus(job, 'done', context.nowMs, { reason: 'checked-on-round' }), context, emit)
      }
      for (const exception of fact.exceptions) {
        const work = workForException(exception)
        if (work !== undefined) this.raise(work, { source: 'round', zone: exception.zone, urgency: this.catalogue.item(work)?.kind === 'response' ? 'urgent' : 'soon', reason: exception.check }, context, emit)
      }
    }
    if (fact.type === 'change') {
      const work = WORK_AFTER_CHANGE[fact.change]
      if (work !== undefined && !wasDoneSince(this.own.records, work, undefined, fact.timeMs)) this.raise(work, { source: 'change', zone: undefined, urgency: 'soon', reason: fact.change }, context, emit)
    }
  }

  state(change: LineStateChange, context: MaintenanceContext, { emit }: MaintenanceAsks): void {
    watchState(this.own.watch, change)
    if (RUNNING.includes(change.state)) for (const job of this.list.open()) this.put(job, context, emit)
  }

  reading(reading: Reading, context: MaintenanceContext, { emit }: MaintenanceAsks): void {
    if (!watchReading(this.own.watch, reading, context)) return
    for (const { work, begins } of urgentChanges(this.own.watch)) {
      const active = this.list.activeOf(work, undefined)
      if (begins) this.raise(work, { source: 'watch', zone: undefined, urgency: 'urgent', reason: 'seen-by-channels' }, context, emit)
      else if (active !== undefined && active.source === 'watch' && !isUnderWay(active)) this.put(withJobStatus(active, 'done', context.nowMs, { reason: 'condition-gone' }), context, emit)
    }
  }

  tick(_evidence: unknown, context: MaintenanceContext, { emit }: MaintenanceAsks): void {
    for (const job of this.list.open()) {
      if (job.status === 'put-off' && job.untilMs !== undefined && context.nowMs >= job.untilMs) this.put(withoutPutOff(withJobStatus(job, 'open', context.nowMs, { reason: 'put-off-over' })), context, emit)
    }
  }

  private takeStep(entry: JobEntry, context: MaintenanceContext, { emit }: MaintenanceAsks): void {
    const result = entry.action === 'add' ? this.addByEntry(entry, context) : this.stepByEntry(entry, context)
    if (result.kind === 'refused') emit({ type: 'refused', id: `refused-${entry.id}`, timeMs: context.nowMs, entry: entry.id, reason: result.reason, values: result.values })
    else this.put(this.nameless(this.settled(result.job, context)), context, emit)
  }

  private addByEntry(entry: JobEntry, context: MaintenanceContext): StepResult {
    const item = entry.work === undefined ? undefined : this.catalogue.item(entry.work)
    if (item === undefined) return refused('job.unknown-work', { work: entry.work ?? '', expected: this.catalogue.items.map(({ id }) => id).join(', ') })
    if (entry.zone !== undefined && entry.zone > this.definition.machine.zones.length) return { kind: 'refused', reason: 'record.no-such-zone', values: { zone: entry.zone, zones: this.definition.machine.zones.length } }
    const active = this.list.activeOf(item.id, entry.zone)
    if (active !== undefined) return refused('job.already-there', { job: active.id })
    const urgency = item.kind === 'response' ? 'urgent' : 'soon'
    return { kind: 'job', job: newJob(this.definition.line, item, { source: 'entry', zone: entry.zone, urgency, suggestion: entry.suggestion, by: entry.by, key: entry.id }, Math.min(entry.timeMs, context.nowMs)) }
  }

  private stepByEntry(entry: JobEntry, context: MaintenanceContext): StepResult {
    const job = entry.job === undefined ? undefined : this.list.find(entry.job)
    const item = job === undefined ? undefined : this.catalogue.item(job.work)
    if (job === undefined || item === undefined) return refused('job.unknown', { job: entry.job ?? '' })
    // A device that was offline sends late: its time counts, but never before what is known of the job.
    const timeMs = Math.max(job.timeMs, Math.min(entry.timeMs, context.nowMs))
    return stepJob(job, entry, { item, catalogue: this.catalogue, peopleAtWork: peopleAtWork(this.definition, timeMs), timeMs })
  }

  /** Where the site keeps no names only the holders of locks stay, until they are off. */
  private nameless(job: JobFact): JobFact {
    if (this.definition.people?.names !== 'none') return job
    const { by: _by, ...rest } = job
    return { ...rest, history: job.history.map(({ by: _who, ...step }) => step) }
  }

  /** A job whose work is recorded is done when its last step of returning to service is. */
  private settled(job: JobFact, { nowMs }: MaintenanceContext): JobFact {
    const item = this.catalogue.item(job.work)
    if (item === undefined || job.status !== 'half-done' || job.followUp !== undefined || job.record === undefined) return job
    return job.holders.length === 0 && stepsMissing(job, item).length === 0 ? withJobStatus(job, 'done', nowMs, { reason: 'returned-to-service' }) : job
  }

  private takeFromSuggestion(work: string, suggestion: Suggestion, by: string | undefined, context: MaintenanceContext, emit: MaintenanceAsks['emit']): void {
    const item = this.catalogue.item(work)
    if (item === undefined) return
    const active = this.list.activeOf(work, suggestion.zone)
    if (active !== undefined && active.suggestion === suggestion.id && active.status !== 'open' && active.status !== 'put-off') return
    const job = active ?? newJob(this.definition.line, item, { source: 'suggestion', zone: suggestion.zone, urgency: suggestion.urgency, suggestion: suggestion.id, key: suggestion.id }, context.nowMs)
    const linked: JobFact = { ...job, suggestion: suggestion.id }
    // A lone shift, or one nobody knows of, does not get a job for two.
    const alone = tooFewPeople(item, undefined, peopleAtWork(this.definition, context.nowMs)) !== undefined
    if (isUnderWay(linked)) this.put(linked, context, emit)
    else if (alone) this.put({ ...linked, reason: 'two-people-needed' }, context, emit)
    else this.put({ ...withoutPutOff(withJobStatus(linked, 'taken', context.nowMs, by === undefined ? {} : { by })), ...(by === undefined ? {} : { by }) }, context, emit)
  }

  private raise(work: string, from: { readonly source: JobFact['source']; readonly zone: number | undefined; readonly urgency: JobFact['urgency']; readonly reason: string }, context: MaintenanceContext, emit: MaintenanceAsks['emit']): void {
    const item = this.catalogue.item(work)
    const active = item === undefined ? undefined : this.list.activeOf(work, from.zone)
    if (item === undefined) return
    if (active === undefined) this.put(newJob(this.definition.line, item, { ...from, key: from.reason }, context.nowMs), context, emit)
    else if (from.urgency === 'urgent' && active.urgency !== 'urgent') this.put({ ...withoutPutOff(active), urgency: 'urgent', timeMs: context.nowMs }, context, emit)
  }

  /** The active job a record belongs to goes on. */
  private advance({ record, id }: RecordFact, context: MaintenanceContext, emit: MaintenanceAsks['emit']): void {
    const item = this.catalogue.item(record.work)
    const named = record.job === undefined ? undefined : this.list.find(record.job)
    const job = named !== undefined && isOpenJob(named) && named.work === record.work ? named : this.list.activeOf(record.work, record.zone)
    if (item === undefined || job === undefined) return
    const by = record.by === undefined ? {} : { by: record.by }
    const recorded: JobFact = { ...withoutPutOff(job), record: id }
    if (item.followedBy !== undefined && !wasDoneSince(this.own.records, item.followedBy, record.zone, record.timeMs)) {
      this.put({ ...withJobStatus(recorded, 'half-done', context.nowMs, { reason: 'recorded', ...by }), followUp: item.followedBy, doNotStartSinceMs: record.timeMs }, context, emit)
      return
    }
    const { followUp: _followUp, doNotStartSinceMs: _since, ...free } = recorded
    const left = job.holders.length > 0 || stepsMissing(job, item).length > 0
    this.put(withJobStatus(free, left ? 'half-done' : 'done', context.nowMs, { reason: 'recorded', ...by }), context, emit)
  }

  /** Holds that what must be followed by another job is half done until that is recorded, whatever was corrected since. */
  private protect(context: MaintenanceContext, emit: MaintenanceAsks['emit']): void {
    const places = this.catalogue.items.flatMap((item) => (item.followedBy === undefined ? [] : this.placesOf(item).map((zone) => ({ item, followUp: item.followedBy!, zone }))))
    const standing = places.map((place) => ({ ...place, newest: this.unfollowed(place.item, place.followUp, place.zone) }))
    // Two works can call for the same one: what is no longer open goes first, then what is open calls again.
    for (const { item, followUp, zone, newest } of standing) if (newest === undefined) this.release(item, followUp, zone, context, emit)
    for (const { item, followUp, zone, newest } of standing) if (newest !== undefined) this.holdBack(item, followUp, zone, newest, context, emit)
  }

  private placesOf(item: WorkItem): (number | undefined)[] {
    return [...new Set([...this.own.records.filter(({ record }) => record.work === item.id).map(({ record }) => record.zone), ...this.list.ofWork(item.id).map((job) => job.zone)])]
  }

  /** The newest record of a work that nothing has followed. */
  private unfollowed(item: WorkItem, followUp: string, zone: number | undefined): RecordFact | undefined {
    const newest = newestOf(this.own.records, item.id, zone)
    return newest === undefined || wasDoneSince(this.own.records, followUp, zone, newest.timeMs) ? undefined : newest
  }

  private release(item: WorkItem, followUp: string, zone: number | undefined, context: MaintenanceContext, emit: MaintenanceAsks['emit']): void {
    const active = this.list.activeOf(item.id, zone)
    if (active?.followUp !== undefined) this.free(active, item, context, emit)
    const called = this.list.activeOf(followUp, zone)
    if (called?.source === 'lead' && called.reason === item.id && !isUnderWay(called)) this.put(withJobStatus(called, 'dropped', context.nowMs, { reason: 'no-longer-needed' }), context, emit)
  }

  private holdBack(item: WorkItem, followUp: string, zone: number | undefined, newest: RecordFact, context: MaintenanceContext, emit: MaintenanceAsks['emit']): void {
    const active = this.list.activeOf(item.id, zone)
    const done = this.list.ofWork(item.id).find((job) => job.zone === zone && job.record === newest.id)
    const job = active ?? done ?? newJob(this.definition.line, item, { source: 'record', zone, urgency: 'urgent', by: newest.record.by, key: newest.id }, context.nowMs)
    if (job.status !== 'half-done' || job.followUp !== followUp || job.record !== newest.id || job.doNotStartSinceMs !== newest.timeMs) {
      this.put({ ...withoutPutOff(withJobStatus(job, 'half-done', context.nowMs, { reason: 'follow-up-open' })), record: newest.id, followUp, doNotStartSinceMs: newest.timeMs }, context, emit)
    }
    this.raise(followUp, { source: 'lead', zone, urgency: 'urgent', reason: item.id }, context, emit)
  }

  /** What had to follow is recorded. */
  private free(job: JobFact, item: WorkItem, context: MaintenanceContext, emit: MaintenanceAsks['emit']): void {
    const { followUp: _followUp, doNotStartSinceMs: _since, ...rest } = job
    const left = job.holders.length > 0 || stepsMissing(job, item).length > 0
    this.put(withJobStatus(rest, left ? 'half-done' : 'done', context.nowMs, { reason: 'follow-up-recorded' }), context, emit)
  }

  private correct(entry: CorrectionEntry, context: MaintenanceContext, { emit }: MaintenanceAsks): void {
    const known = findRecord(this.own.records, entry.of)
    const refuse = (reason: string, values: Readonly<Record<string, number | string>>): void => emit({ type: 'refused', id: `refused-${entry.id}`, timeMs: context.nowMs, entry: entry.id, reason, values })
    if (known === undefined) return refuse('correction.unknown-record', { record: entry.of })
    if (known.withdrawn) return refuse('correction.already-withdrawn', { record: entry.of })
    // Who did the work does not change with who corrects what was written of it.
    const author = known.record.by === undefined ? {} : { by: known.record.by }
    const record = entry.record === undefined ? undefined : withHandCheck({ ...author, ...entry.record, timeMs: Math.min(entry.record.timeMs, context.nowMs) }, this.definition)
    const refusal = record === undefined ? undefined : recordRefusal(record, this.definition)
    if (refusal !== undefined) return refuse(refusal.reason, refusal.values)
    const fact = correctRecord(this.own.records, entry.of, { record, reason: entry.reason, timeMs: context.nowMs, by: entry.by })
    if (fact === undefined) return
    emit(fact)
    this.undo(fact, known.record, context, emit)
    if (!fact.withdrawn) this.advance(fact, context, emit)
    this.protect(context, emit)
  }

  /** A job that was done by a record which never happened, or was of another work, waits again. */
  private undo(fact: RecordFact, before: WorkRecord, context: MaintenanceContext, emit: MaintenanceAsks['emit']): void {
    if (!fact.withdrawn && fact.record.work === before.work && fact.record.zone === before.zone) return
    for (const job of this.list.ofWork(before.work).filter((candidate) => candidate.record === fact.id)) {
      const { record: _record, followUp: _followUp, doNotStartSinceMs: _since, ...rest } = job
      const other = this.list.activeOf(job.work, job.zone)
      // Another job of the same work and place is at it already, or nobody had asked for this one.
      const back = (other !== undefined && other.id !== job.id) || job.source === 'record' ? 'dropped' : job.begun ? 'started' : 'open'
      if (job.status !== back) this.put(withJobStatus(rest, back, context.nowMs, { reason: 'record-withdrawn' }), context, emit)
    }
  }

  /** Keeps a job and says how it stands; the same standing is not said twice. */
  private put(job: JobFact, context: MaintenanceContext, emit: MaintenanceAsks['emit']): void {
    const said = this.list.put(job, { nowMs: context.nowMs, running: RUNNING.includes(context.state) })
    if (said !== undefined) emit(said)
  }
}

function withoutPutOff(job: JobFact): JobFact {
  const { untilMs: _untilMs, reason: _reason, ...rest } = job
  return rest
}
