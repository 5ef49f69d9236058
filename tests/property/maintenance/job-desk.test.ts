import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { LineStateName } from '../../../src/line/feature-value.js'
import { CHANGE_KINDS } from '../../../src/maintenance/changes/change-entry.js'
import { JOB_ACTIONS, type JobEntry } from '../../../src/maintenance/jobs/job-entry.js'
import type { JobFact, JobStatus } from '../../../src/maintenance/jobs/job-fact.js'
import { isOpenJob } from '../../../src/maintenance/jobs/job-steps.js'
import type { SuggestionStatus, WorkRecord } from '../../../src/maintenance/suggestion.js'
import { isolates, returnStepsOf, RETURN_STEPS, workItem } from '../../../src/maintenance/work-catalogue.js'
import { HOUR_MS, JobBench, shiftOf } from '../../unit/maintenance/jobs/job-bench.js'

type Step =
  | { readonly kind: 'enter'; readonly action: JobEntry['action']; readonly which: number; readonly who: string; readonly people: number | undefined; readonly hours: number; readonly reason: string; readonly step: string; readonly work: string }
  | { readonly kind: 'record'; readonly work: string; readonly lateHours: number }
  | { readonly kind: 'correct'; readonly which: number; readonly as: string | undefined; readonly lateHours: number }
  | { readonly kind: 'suggest'; readonly status: SuggestionStatus; readonly id: string }
  | { readonly kind: 'change'; readonly change: string }
  | { readonly kind: 'state'; readonly state: LineStateName }
  | { readonly kind: 'wait'; readonly hours: number }
  | { readonly kind: 'restart' }

const WORKS = ['clean-chain', 'lubricate-chain', 'clean-nozzle', 'swap-exhaust-filter', 'replace-chain-and-sprockets'] as const
const work = fc.constantFrom(...WORKS)
const hours = fc.integer({ min: 0, max: 30 })
const stepArbitrary: fc.Arbitrary<Step> = fc.oneof(
  { weight: 6, arbitrary: fc.record({ kind: fc.constant('enter' as const), action: fc.constantFrom(...JOB_ACTIONS), which: fc.nat(4), who: fc.constantFrom('Robin', 'Sam'), people: fc.constantFrom(undefined, 1, 2), hours: fc.integer({ min: -2, max: 300 }), reason: fc.constantFrom('no-time-now', 'not-needed', 'nonsense'), step: fc.constantFrom(...RETURN_STEPS), work }) },
  { weight: 4, arbitrary: fc.record({ kind: fc.constant('record' as const), work, lateHours: hours }) },
  fc.record({ kind: fc.constant('correct' as const), which: fc.nat(5), as: fc.option(work, { nil: undefined }), lateHours: hours }),
  fc.record({ kind: fc.constant('suggest' as const), status: fc.constantFrom('open', 'taken', 'put-off', 'declined', 'done', 'withdrawn'), id: fc.constantFrom('s-1', 's-2') }),
  fc.record({ kind: fc.constant('change' as const), change: fc.constantFrom(...CHANGE_KINDS) }),
  fc.record({ kind: fc.constant('state' as const), state: fc.constantFrom('production', 'idle', 'maintenance', 'run-in') }),
  fc.record({ kind: fc.constant('wait' as const), hours }),
  fc.record({ kind: fc.constant('restart' as const) }),
)

/** Changes of status that can be. A job that was done waits again only when the record that closed it was corrected. */
const ALLOWED: Readonly<Record<JobStatus, readonly JobStatus[]>> = {
  open: ['taken', 'put-off', 'half-done', 'done', 'dropped'],
  taken: ['open', 'started', 'waiting-for-part', 'put-off', 'half-done', 'done', 'dropped'],
  started: ['paused', 'waiting-for-part', 'half-done', 'done'],
  paused: ['started', 'waiting-for-part', 'half-done', 'done'],
  'waiting-for-part': ['open', 'taken', 'put-off', 'started', 'half-done', 'done', 'dropped'],
  'put-off': ['open', 'taken', 'half-done', 'done', 'dropped'],
  'half-done': ['open', 'started', 'waiting-for-part', 'done', 'dropped'],
  done: ['open', 'started', 'half-done', 'dropped'],
  dropped: ['half-done'],
}

function act(bench: JobBench, step: Step): void {
  switch (step.kind) {
    case 'enter': {
      const job = bench.jobs[step.which % Math.max(1, bench.jobs.length)]
      bench.enter({ action: step.action, ...(job === undefined ? {} : { job: job.id }), work: step.work, by: step.who, reason: step.reason, step: step.step, part: 'bearing', untilMs: bench.nowMs + step.hours * HOUR_MS, ...(step.people === undefined ? {} : { people: step.people }) })
      return
    }
    case 'record':
      bench.record(step.work, { timeMs: bench.nowMs - step.lateHours * HOUR_MS })
      return
    case 'correct': {
      const known = bench.records[step.which % Math.max(1, bench.records.length)]
      const section = step.as === undefined ? undefined : workItem(step.as).section
      const record: WorkRecord | undefined = step.as === undefined || section === undefined ? undefined : { id: 'x', timeMs: bench.nowMs - step.lateHours * HOUR_MS, work: step.as, section }
      bench.correct(known?.id ?? 'r-none', record)
      return
    }
    case 'suggest':
      bench.suggest(['clean-chain', 'lubricate-chain', 'swap-exhaust-filter'], step.status, { id: step.id, untilMs: bench.nowMs + 5 * HOUR_MS })
      return
    case 'change':
      bench.hear({ type: 'change', id: 'c', timeMs: bench.nowMs, change: step.change, source: 'entry' } as never)
      return
    case 'state':
      bench.enterState(step.state)
      return
    case 'wait':
      bench.wait(step.hours * HOUR_MS)
      return
    case 'restart':
      bench.restart()
      return
  }
}

/** Whether a work stands unprotected, told from the records alone. */
function openSince(bench: JobBench, washed: string): number | undefined {
  const times = (id: string): number[] => bench.records.filter((fact) => !fact.withdrawn && fact.record.work === id).map((fact) => fact.record.timeMs)
  const newest = Math.max(...times(washed))
  return Number.isFinite(newest) && !times('lubricate-chain').some((timeMs) => timeMs >= newest) ? newest : undefined
}

function holdsTogether(bench: JobBench): void {
  for (const washed of ['clean-chain', 'replace-chain-and-sprockets']) {
    const halfDone = bench.open.filter((job) => job.work === washed && job.followUp !== undefined)
    const since = openSince(bench, washed)
    expect(halfDone.map(({ status, doNotStart, doNotStartSinceMs }) => ({ status, doNotStart, doNotStartSinceMs }))).toEqual(
      since === undefined ? [] : [{ status: halfDone[0]?.status, doNotStart: washed === 'clean-chain' ? 'washed-not-lubricated' : 'not-lubricated', doNotStartSinceMs: since }],
    )
    if (since !== undefined) expect(bench.open.some((job) => job.work === 'lubricate-chain' && job.urgency === 'urgent')).toBe(true)
  }
  const places = bench.open.map((job) => `${job.work} ${job.zone ?? ''}`)
  expect(new Set(places).size).toBe(places.length)
  for (const job of bench.jobs) soundJob(job)
}

function soundJob(job: JobFact): void {
  expect(job.history.at(-1)!.status).toBe(job.status)
  expect(job.history[0]!.status).toBe('open')
  job.history.slice(1).forEach(({ status, timeMs }, index) => {
    const before = job.history[index]!
    if (status !== before.status) expect(ALLOWED[before.status], `${before.status} to ${status}`).toContain(status)
    expect(timeMs).toBeGreaterThanOrEqual(before.timeMs)
  })
  if (!isOpenJob(job)) {
    expect(job.holders).toEqual([])
    expect(job.doNotStart).toBeUndefined()
    expect(job.isolation).toBeUndefined()
  }
  if (job.status === 'done' && job.begun) expect([...job.returnSteps].sort()).toEqual([...returnStepsOf(workItem(job.work))].sort())
  if (job.status === 'done') expect(job.record !== undefined || job.history.at(-1)!.reason === 'condition-gone').toBe(true)
  if (isOpenJob(job) && job.begun && isolates(workItem(job.work))) expect(job.doNotStart).toBeDefined()
  if (['started', 'paused'].includes(job.status)) expect(job.begun).toBe(true)
  if (job.doNotStartSinceMs !== undefined && job.ranAnywayMs !== undefined) expect(job.ranAnywayMs).toBeGreaterThanOrEqual(job.doNotStartSinceMs)
}

describe('job desk', () => {
  it('random orders of steps, records, corrections and restarts lose no record and reach no impossible state', () => {
    fc.assert(
      fc.property(fc.constantFrom(1, 2), fc.array(stepArbitrary, { minLength: 5, maxLength: 40 }), (people, steps) => {
        const bench = new JobBench(shiftOf(people))
        let recorded = 0
        for (const step of steps) {
          act(bench, step)
          if (step.kind === 'record') recorded += 1
          expect(bench.records.length).toBe(recorded)
          holdsTogether(bench)
        }
        // Every version of every record is still to be had.
        for (const fact of bench.records) expect(fact.earlier.length).toBe(bench.facts.filter((other) => other.type === 'record' && other.id === fact.id).length - 1)
        // Nobody alone has a job for two.
        if (people === 1) for (const job of bench.jobs) if (job.status === 'taken' && workItem(job.work).people > 1 && job.history.at(-1)!.status === 'taken') expect(job.people).toBe(2)
        expect(JSON.parse(JSON.stringify(bench.snapshot()))).toEqual(bench.snapshot())
      }),
      { numRuns: 150 },
    )
  })

  it('a restart anywhere changes nothing that is said', () => {
    fc.assert(
      fc.property(fc.array(stepArbitrary, { minLength: 3, maxLength: 25 }), (steps) => {
        const [first, second] = [new JobBench(), new JobBench()]
        for (const step of steps) {
          act(first, step)
          first.restart()
          if (step.kind !== 'restart') act(second, step)
        }
        expect(first.facts).toEqual(second.facts)
      }),
      { numRuns: 50 },
    )
  })
})
