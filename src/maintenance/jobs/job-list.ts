import type { SiteCatalogue } from '../site-catalogue.js'
import { fnv1a64, isCodeOf } from '../suggestion-id.js'
import type { WorkItem } from '../work-catalogue.js'
import type { JobFact } from './job-fact.js'
import { doNotStartOf, isOpenJob } from './job-steps.js'

/** Closed jobs kept at hand, the newest; all stay in the history. */
const CLOSED_KEPT = 200

export interface JobListState {
  jobs: JobFact[]
}

/** All jobs of a line that wait, and the last that do not. One waits at most for each work and place. */
export class JobList {
  constructor(
    private readonly state: JobListState,
    private readonly catalogue: SiteCatalogue,
  ) {}

  open(): readonly JobFact[] {
    return this.state.jobs.filter(isOpenJob)
  }

  ofWork(work: string): readonly JobFact[] {
    return this.state.jobs.filter((job) => job.work === work)
  }

  activeOf(work: string, zone: number | undefined): JobFact | undefined {
    return this.state.jobs.find((job) => isOpenJob(job) && job.work === work && job.zone === zone)
  }

  /** By id or by the short code of its card; of two with the same code the one that waits. */
  find(idOrCode: string): JobFact | undefined {
    const fits = this.state.jobs.filter((job) => job.id === idOrCode || isCodeOf(job.id, idOrCode))
    return fits.find((job) => job.id === idOrCode) ?? fits.find(isOpenJob) ?? fits.at(-1)
  }

  /**
   * Keeps a job as it stands now, with whether the line may run.
   *
   * @param at whether the line runs with boards at this moment
   * @returns the job if it says something new
   */
  put(job: JobFact, at: { readonly nowMs: number; readonly running: boolean }): JobFact | undefined {
    const item = this.catalogue.item(job.work)
    const standing = item === undefined ? job : withStanding(job, item, at)
    const index = this.state.jobs.findIndex(({ id }) => id === job.id)
    const known = this.state.jobs[index]
    if (known !== undefined && sameStanding(known, standing)) return undefined
    if (known === undefined) this.state.jobs.push(standing)
    else this.state.jobs[index] = standing
    this.forgetOldest()
    return standing
  }

  private forgetOldest(): void {
    const closed = this.state.jobs.filter((job) => !isOpenJob(job))
    if (closed.length <= CLOSED_KEPT) return
    const dropped = new Set(closed.sort((a, b) => a.statusMs - b.statusMs).slice(0, closed.length - CLOSED_KEPT))
    this.state.jobs = this.state.jobs.filter((job) => !dropped.has(job))
  }
}

function sameStanding(a: JobFact, b: JobFact): boolean {
  const mark = ({ timeMs: _timeMs, ...rest }: JobFact): string => JSON.stringify(Object.entries(rest).sort(([one], [other]) => (one < other ? -1 : 1)))
  return mark(a) === mark(b)
}

/** A job with what follows from how it stands: whether the line may run, whether it ran anyway, who holds the isolation. */
function withStanding(job: JobFact, item: WorkItem, { nowMs, running }: { readonly nowMs: number; readonly running: boolean }): JobFact {
  const { doNotStart: _key, doNotStartSinceMs: _since, isolation: _isolation, ...rest } = job
  const standing = doNotStartOf(job, item)
  const [first] = job.holders
  const open = isOpenJob(job)
  const { dismantled, ranAnywayMs, ...together } = rest
  // What ran before the present reason began ran in spite of another one, which the history holds.
  const ranMs = standing !== undefined && ranAnywayMs !== undefined && ranAnywayMs < standing.sinceMs ? undefined : ranAnywayMs
  return {
    ...together,
    ...(open && dismantled !== undefined ? { dismantled } : {}),
    holders: open ? job.holders : [],
    ...(standing === undefined ? {} : { doNotStart: standing.key, doNotStartSinceMs: standing.sinceMs }),
    ...(ranMs !== undefined ? { ranAnywayMs: ranMs } : standing !== undefined && running ? { ranAnywayMs: Math.max(nowMs, standing.sinceMs) } : {}),
    ...(open && first !== undefined ? { isolation: first } : {}),
  }
}

export interface JobOrigin {
  readonly source: JobFact['source']
  readonly zone: number | undefined
  readonly urgency: JobFact['urgency']
  readonly suggestion?: string | undefined
  readonly by?: string | undefined
  readonly reason?: string
  /** Whatever makes it this one: with line, work, place and time it gives the id, live and in replay. */
  readonly key: string
}

export function newJob(line: string, item: WorkItem, origin: JobOrigin, raisedMs: number): JobFact {
  const { source, zone, urgency, suggestion, by, reason, key } = origin
  return {
    type: 'job',
    id: `j-${fnv1a64([line, item.id, zone ?? '', source, key, raisedMs].join('|')).toString(36).padStart(13, '0')}`,
    timeMs: raisedMs,
    work: item.id,
    section: item.section,
    ...(zone === undefined ? {} : { zone }),
    ...(suggestion === undefined ? {} : { suggestion }),
    status: 'open',
    statusMs: raisedMs,
    raisedMs,
    source,
    safety: item.safety,
    holders: [],
    ...(reason === undefined ? {} : { reason }),
    begun: false,
    returnSteps: [],
    urgency,
    history: [{ timeMs: raisedMs, status: 'open', ...(by === undefined ? {} : { by }), ...(reason === undefined ? {} : { reason }) }],
  }
}
