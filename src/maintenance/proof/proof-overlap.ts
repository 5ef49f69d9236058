import type { LineDefinition } from '../../line/line-definition.js'
import { isWork, workItem } from '../work-catalogue.js'
import { proofFeatures } from './proof-features.js'
import type { Disturbance, ProvenWork } from './proof-state.js'

/** A follow-up, or another pass of the same job, this long after belongs to the same work. [ASM] */
const SAME_WORK_MS = 48 * 3_600_000

/** Whether two records are one piece of work: a job and the one that must follow it, or several passes of one job. */
export function isSameWork(a: ProvenWork, b: ProvenWork): boolean {
  if (a.section !== b.section || a.zone !== b.zone || Math.abs(a.doneMs - b.doneMs) > SAME_WORK_MS) return false
  if (a.work === b.work) return Math.abs(a.doneMs - b.doneMs) <= SAME_WORK_MS / 4
  return (a.doneMs <= b.doneMs && followUpOf(a.work) === b.work) || (b.doneMs <= a.doneMs && followUpOf(b.work) === a.work)
}

export function followUpOf(work: string): string | undefined {
  return isWork(work) ? workItem(work).followedBy : undefined
}

/** Whether the effects of two jobs show in the same features, so that neither can be told from the other. */
export function overlaps(a: ProvenWork, b: ProvenWork, definition: LineDefinition): boolean {
  const own = proofFeatures(definition, a.work, a.zone).map(({ spec }) => spec.feature)
  const others = proofFeatures(definition, b.work, b.zone).map(({ spec }) => spec.feature)
  // The boards' temperature is shared by all zones: where a zone has features of its own, a job elsewhere does not spoil them.
  const isShared = (feature: string): boolean => feature.startsWith('board.')
  const onlyShared = own.every(isShared) || others.every(isShared)
  return others.some((feature) => own.includes(feature) && (onlyShared || !isShared(feature)))
}

/** Whether a disturbance can have moved the features of a job. */
export function touches(disturbance: Disturbance, work: ProvenWork): boolean {
  if (disturbance.section !== undefined && disturbance.section !== work.section) return false
  return disturbance.zone === undefined || work.zone === undefined || disturbance.zone === work.zone
}
