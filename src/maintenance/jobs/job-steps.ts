import type { SiteCatalogue } from '../site-catalogue.js'
import { isolates, returnStepsOf, type ReturnStep, type WorkItem } from '../work-catalogue.js'
import type { JobEntry } from './job-entry.js'
import type { JobFact, JobStatus } from './job-fact.js'
import { JOB_DROP_REASONS, JOB_PUT_OFF_REASONS, type DoNotStart, type RefusalReason } from './job-reasons.js'
import { gateRefusal, productRefusal, type Refusal } from './record-check.js'

const DAY_MS = 86_400_000
/** A job can be put off for at most so long: after a quarter its reason is another. */
const PUT_OFF_MS_MAX = 90 * DAY_MS

/** What a step needs to know besides the job. */
export interface StepContext {
  readonly item: WorkItem
  readonly catalogue: SiteCatalogue
  /** People of the shift, where the line has shifts. */
  readonly peopleAtWork: number | undefined
  /** Time of the step, ms UTC; not before the job's last. */
  readonly timeMs: number
}

export type StepResult = { readonly kind: 'job'; readonly job: JobFact } | ({ readonly kind: 'refused' } & Refusal)

const CLOSED: readonly JobStatus[] = ['done', 'dropped']

/** Whether a job still waits for somebody. */
export function isOpenJob({ status }: Pick<JobFact, 'status'>): boolean {
  return !CLOSED.includes(status)
}

/** Whether something was done to the machine that is not yet undone. */
export function isUnderWay(job: JobFact): boolean {
  return isOpenJob(job) && (job.begun || job.holders.length > 0 || job.dismantled !== undefined || job.followUp !== undefined)
}

export function refused(reason: RefusalReason, values: Refusal['values'] = {}): StepResult {
  return { kind: 'refused', reason, values }
}

/** A job after one step of a person, or why the step cannot be. */
export function stepJob(job: JobFact, entry: JobEntry, context: StepContext): StepResult {
  if (!isOpenJob(job)) return refused('job.closed', { status: job.status })
  switch (entry.action) {
    case 'add':
      return refused('job.already-there', { job: job.id })
    case 'take':
      return take(job, entry, context)
    case 'start':
      return start(job, entry, context)
    case 'isolate':
      return isolate(job, entry, context)
    case 'pause':
      return from(['started'], job) ?? next(job, 'paused', entry, context)
    case 'wait-for-part':
      if (entry.part === undefined) return refused('job.part-missing')
      return from(['taken', 'started', 'paused', 'half-done'], job) ?? next(job, 'waiting-for-part', entry, context)
    case 'resume':
      return from(['paused', 'waiting-for-part'], job) ?? next(without(job, 'part'), whereItWas(job), entry, context)
    case 'hand-over':
      return from(['taken', 'started', 'paused', 'waiting-for-part', 'half-done'], job) ?? next(job, job.status === 'started' ? 'paused' : job.status, entry, context, 'handed-over')
    case 'release-isolation':
      return release(job, entry, context)
    case 'return-step':
      return returnStep(job, entry, context)
    case 'put-off':
      return putOff(job, entry, context)
    case 'give-back':
      if (isUnderWay(job)) return refused('job.work-under-way', { status: job.status })
      return from(['taken'], job) ?? next(without(job, 'by', 'people'), 'open', { ...entry, reason: 'given-back' }, context)
    case 'drop':
      return drop(job, entry, context)
    case 'done':
      return done(job, entry, context)
  }
}

function from(statuses: readonly JobStatus[], job: JobFact): StepResult | undefined {
  return statuses.includes(job.status) ? undefined : refused('job.not-possible-now', { status: job.status, expected: statuses.join(', ') })
}

function whereItWas(job: JobFact): JobStatus {
  if (job.record !== undefined || job.followUp !== undefined) return 'half-done'
  return job.begun ? 'started' : 'taken'
}

function take(job: JobFact, entry: JobEntry, context: StepContext): StepResult {
  const wrong = from(['open', 'put-off'], job) ?? tooFewPeople(context.item, entry.people, context.peopleAtWork)
  return wrong ?? next(without(job, 'untilMs', 'reason'), 'taken', entry, context)
}

/** What speaks against so few people; what nobody knows does not count as two. */
export function tooFewPeople({ people: needed }: WorkItem, given: number | undefined, atWork: number | undefined): StepResult | undefined {
  if (needed < 2) return undefined
  const people = given ?? atWork
  if (people === undefined) return refused('job.people-not-given', { needed })
  return people < needed ? refused('job.two-people-needed', { needed, people }) : undefined
}

function start(job: JobFact, entry: JobEntry, context: StepContext): StepResult {
  const wrong = from(['taken', 'paused', 'waiting-for-part'], job) ?? tooFewPeople(context.item, entry.people ?? job.people, context.peopleAtWork)
  if (wrong !== undefined) return wrong
  if (entry.product !== undefined) {
    const refusal = productRefusal(entry.product, context.item, context.catalogue) ?? gateRefusal(entry.product, entry.surfaceC ?? job.surfaceC, context.catalogue)
    if (refusal !== undefined) return { kind: 'refused', ...refusal }
  }
  return next({ ...without(job, 'part'), begun: true }, 'started', entry, context)
}

function isolate(job: JobFact, entry: JobEntry, context: StepContext): StepResult {
  const wrong = from(['taken', 'started', 'paused', 'waiting-for-part', 'half-done'], job)
  if (wrong !== undefined) return wrong
  if (entry.by === undefined) return refused('job.holder-missing')
  const holders = job.holders.some(({ holder }) => holder === entry.by) ? job.holders : [...job.holders, { holder: entry.by, sinceMs: context.timeMs }]
  // With a lock on again, the line is no longer on its way back to service.
  return next({ ...job, begun: true, holders, returnSteps: [] }, job.status, entry, context, 'isolated')
}

function release(job: JobFact, entry: JobEntry, context: StepContext): StepResult {
  if (job.holders.length === 0) return refused('job.not-possible-now', { status: job.status, expected: 'an isolation that is on' })
  if (entry.by === undefined || !job.holders.some(({ holder }) => holder === entry.by)) return refused('job.not-the-holder', { holders: job.holders.map(({ holder }) => holder).join(', ') })
  const holders = job.holders.filter(({ holder }) => holder !== entry.by)
  if (holders.length > 0) return next({ ...job, holders }, job.status, entry, context, 'isolation-released')
  // The last lock goes only when nobody and nothing is left inside.
  const missing = returnStepsOf(context.item).slice(0, returnStepsOf(context.item).indexOf('isolation-removed-by-owner')).filter((step) => !job.returnSteps.includes(step))
  if (missing.length > 0) return refused('job.return-steps-open', { missing: missing.join(', ') })
  return next({ ...job, holders, returnSteps: [...job.returnSteps, 'isolation-removed-by-owner'] }, job.status, entry, context, 'isolation-released')
}

function returnStep(job: JobFact, entry: JobEntry, context: StepContext): StepResult {
  const steps = returnStepsOf(context.item)
  const step = entry.step as ReturnStep | undefined
  if (step === undefined || !steps.includes(step)) return refused('job.no-such-step', { step: entry.step ?? '', expected: steps.join(', ') })
  if (!job.begun) return refused('job.not-possible-now', { status: job.status, expected: 'work that was begun' })
  if (job.followUp !== undefined) return refused('job.follow-up-missing', { work: job.followUp })
  if (job.returnSteps.includes(step)) return next(job, job.status, entry, context, 'return-step')
  if (step === 'isolation-removed-by-owner' && job.holders.length > 0) return refused('job.holder-must-release', { holders: job.holders.map(({ holder }) => holder).join(', ') })
  const missing = steps.slice(0, steps.indexOf(step)).filter((before) => !job.returnSteps.includes(before))
  if (step === 'empty-run' && (job.holders.length > 0 || missing.length > 0)) return refused('job.return-steps-open', { missing: missing.join(', ') })
  if (step === 'isolation-removed-by-owner' && missing.length > 0) return refused('job.return-steps-open', { missing: missing.join(', ') })
  return next({ ...job, returnSteps: [...job.returnSteps, step] }, job.status, entry, context, 'return-step')
}

function putOff(job: JobFact, entry: JobEntry, context: StepContext): StepResult {
  if (job.urgency === 'urgent') return refused('job.is-urgent')
  if (isUnderWay(job)) return refused('job.work-under-way', { status: job.status })
  const reason = entry.reason
  if (reason === undefined || !(JOB_PUT_OFF_REASONS as readonly string[]).includes(reason)) return refused('job.reason-missing', { expected: JOB_PUT_OFF_REASONS.join(', ') })
  const { untilMs } = entry
  if (untilMs === undefined) return refused('job.until-missing')
  if (untilMs <= context.timeMs) return refused('job.until-in-the-past')
  if (untilMs - context.timeMs > PUT_OFF_MS_MAX) return refused('job.until-too-far', { days: PUT_OFF_MS_MAX / DAY_MS })
  const limitMs = job.raisedMs + context.catalogue.safetyPutOffDays * DAY_MS
  if (job.safety && untilMs > limitMs && entry.engineer === undefined) return refused('job.engineer-needed', { days: context.catalogue.safetyPutOffDays, until: new Date(limitMs).toISOString() })
  return from(['open', 'taken', 'put-off'], job) ?? next({ ...without(job, 'by', 'people'), untilMs }, 'put-off', entry, context)
}

function drop(job: JobFact, entry: JobEntry, context: StepContext): StepResult {
  if (isUnderWay(job)) return refused('job.work-under-way', { status: job.status })
  // What the line must not run without is done, not dropped; an urgent message can be a false one.
  if (job.urgency === 'urgent' && context.item.kind !== 'response') return refused('job.is-urgent')
  if (entry.reason === undefined || !(JOB_DROP_REASONS as readonly string[]).includes(entry.reason)) return refused('job.reason-missing', { expected: JOB_DROP_REASONS.join(', ') })
  if (job.safety && entry.engineer === undefined) return refused('job.engineer-needed', { days: context.catalogue.safetyPutOffDays, until: '' })
  return next(job, 'dropped', entry, context)
}

function done(job: JobFact, entry: JobEntry, context: StepContext): StepResult {
  if (job.followUp !== undefined) return refused('job.follow-up-missing', { work: job.followUp })
  if (job.record === undefined && context.item.kind !== 'response') return refused('job.record-missing')
  const missing = stepsMissing(job, context.item)
  if (missing.length > 0) return refused('job.return-steps-open', { missing: missing.join(', ') })
  return next(job, 'done', entry, context)
}

/** Steps of returning to service that a begun job still lacks. */
export function stepsMissing(job: JobFact, item: WorkItem): readonly ReturnStep[] {
  return job.begun ? returnStepsOf(item).filter((step) => !job.returnSteps.includes(step)) : []
}

type Optional = 'by' | 'people' | 'untilMs' | 'reason' | 'part'

function without(job: JobFact, ...names: readonly Optional[]): JobFact {
  return Object.fromEntries(Object.entries(job).filter(([name]) => !(names as readonly string[]).includes(name))) as unknown as JobFact
}

function next(job: JobFact, status: JobStatus, entry: JobEntry, { timeMs }: Pick<StepContext, 'timeMs'>, note?: string): StepResult {
  const reason = note ?? entry.reason
  const { by, dismantled, part, engineer, product, surfaceC } = entry
  const people = entry.action === 'take' || entry.action === 'start' ? entry.people : undefined
  const given = Object.fromEntries(Object.entries({ by, people, dismantled, part, engineer, product, surfaceC }).filter(([, value]) => value !== undefined)) as Partial<JobFact>
  // Whoever gives it away is named in the history, not as the one who has it.
  const keepsBy = ['give-back', 'put-off', 'hand-over'].includes(entry.action) ? { ...given, by: undefined } : given
  const merged = Object.fromEntries(Object.entries({ ...job, ...keepsBy, ...(entry.reason !== undefined && note === undefined ? { reason: entry.reason } : {}) }).filter(([, value]) => value !== undefined)) as unknown as JobFact
  return { kind: 'job', job: withJobStatus(merged, status, timeMs, { ...(by === undefined ? {} : { by }), ...(reason === undefined ? {} : { reason }) }) }
}

/** Steps of a job's history that are kept, the newest; the first always is. */
const HISTORY_KEPT = 60

/** A job with a status, noted in its history. */
export function withJobStatus(job: JobFact, status: JobStatus, timeMs: number, details: { readonly by?: string; readonly reason?: string } = {}): JobFact {
  const history = [...job.history, { timeMs, status, ...details }]
  const kept = history.length > HISTORY_KEPT ? [history[0]!, ...history.slice(-(HISTORY_KEPT - 1))] : history
  return { ...job, timeMs, status, statusMs: job.status === status ? job.statusMs : timeMs, history: kept }
}

/** Why the line must not run while the job stands as it does, and since when. */
export function doNotStartOf(job: JobFact, item: WorkItem): { readonly key: DoNotStart; readonly sinceMs: number } | undefined {
  if (!isOpenJob(job)) return undefined
  const startedMs = job.history.find(({ status, reason }) => status === 'started' || reason === 'isolated')?.timeMs ?? job.statusMs
  if (job.followUp !== undefined) return { key: followUpKey(job.work, job.followUp), sinceMs: job.doNotStartSinceMs ?? job.statusMs }
  if (!job.begun || !isolates(item)) return undefined
  return job.status === 'half-done' ? { key: 'not-returned-to-service', sinceMs: job.statusMs } : { key: 'work-under-way', sinceMs: startedMs }
}

function followUpKey(work: string, followUp: string): DoNotStart {
  if (followUp !== 'lubricate-chain') return 'follow-up-missing'
  return work === 'clean-chain' ? 'washed-not-lubricated' : 'not-lubricated'
}
