import type { LineDefinition } from '../../line/line-definition.js'
import type { MaintenanceAsks, MaintenanceContext, MaintenancePart } from '../maintenance-part.js'
import type { Suggestion, WorkRecord } from '../suggestion.js'
import { isWork, workItem } from '../work-catalogue.js'
import type { JobFact } from './job-fact.js'

/** Jobs kept in the state, the newest; older closed ones are in the history. */
const JOBS_KEPT = 500

interface JobDeskState {
  version: 1
  jobs: JobFact[]
}

/** The jobs of one line and the records of work. State is plain data, changed in place. */
export function createJobDesk(_definition: LineDefinition, snapshot: unknown): MaintenancePart {
  return new JobDesk(snapshot === undefined ? { version: 1, jobs: [] } : (JSON.parse(JSON.stringify(snapshot)) as JobDeskState))
}

class JobDesk implements MaintenancePart {
  constructor(private readonly own: JobDeskState) {}

  record(record: WorkRecord, _context: MaintenanceContext, { emit }: MaintenanceAsks): void {
    emit({ type: 'record', id: record.id, timeMs: record.timeMs, record, earlier: [], withdrawn: false })
  }

  suggestion(suggestion: Suggestion, { nowMs }: MaintenanceContext, { emit }: MaintenanceAsks): void {
    if (suggestion.status !== 'taken') return
    for (const work of suggestion.work) {
      if (!isWork(work)) continue
      const id = `${suggestion.id}-${work}`
      if (this.own.jobs.some((job) => job.id === id)) continue
      const by = suggestion.history.at(-1)?.by
      const job: JobFact = {
        type: 'job',
        id,
        timeMs: nowMs,
        work,
        section: workItem(work).section,
        ...(suggestion.zone === undefined ? {} : { zone: suggestion.zone }),
        suggestion: suggestion.id,
        status: 'taken',
        statusMs: nowMs,
        returnSteps: [],
        urgency: suggestion.urgency,
        ...(by === undefined ? {} : { by }),
        history: [{ timeMs: nowMs, status: 'taken', ...(by === undefined ? {} : { by }) }],
      }
      this.own.jobs.push(job)
      if (this.own.jobs.length > JOBS_KEPT) this.own.jobs.shift()
      emit(job)
    }
  }

  snapshot(): unknown {
    return JSON.parse(JSON.stringify(this.own))
  }
}
