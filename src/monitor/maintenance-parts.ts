import { createJobDesk } from '../maintenance/jobs/job-desk.js'
import type { CreateMaintenancePart } from '../maintenance/maintenance-part.js'
import { createPlanPart } from '../maintenance/plan/plan-part.js'
import { createRoundsPart } from '../maintenance/rounds/rounds-part.js'

/** The parts in the order in which they see a step; the name keys a part's state in the snapshot. */
export const MAINTENANCE_PARTS: Readonly<Record<string, CreateMaintenancePart>> = {
  jobs: createJobDesk,
  plan: createPlanPart,
  rounds: createRoundsPart,
}
