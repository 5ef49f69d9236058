import { createIntervalPart } from '../maintenance/intervals/interval-part.js'
import { createJobDesk } from '../maintenance/jobs/job-desk.js'
import type { CreateMaintenancePart } from '../maintenance/maintenance-part.js'
import { createProofPart } from '../maintenance/proof/proof-part.js'
import { createPlanPart } from '../maintenance/plan/plan-part.js'
import { createRoundsPart } from '../maintenance/rounds/rounds-part.js'
import { createChangesPart } from '../maintenance/changes/changes-part.js'
import { createHoldPart } from '../maintenance/hold/hold-part.js'
import { createStartUpPart } from '../maintenance/rounds/start-up-part.js'

/** The parts in the order in which they see a step; the name keys a part's state in the snapshot. */
export const MAINTENANCE_PARTS: Readonly<Record<string, CreateMaintenancePart>> = {
  jobs: createJobDesk,
  proof: createProofPart,
  intervals: createIntervalPart,
  plan: createPlanPart,
  rounds: createRoundsPart,
  changes: createChangesPart,
  'start-up': createStartUpPart,
  hold: createHoldPart,
}
