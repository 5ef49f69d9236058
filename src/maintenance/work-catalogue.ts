import { z } from 'zod'
import type { CauseId, RankedCause } from '../line/causes.js'
import { FAULT_FACTS } from '../line/diagnosis/cause-priors.js'
import { CHECKS } from '../line/diagnosis/checks.js'
import type { Section } from '../line/feature-value.js'
import { CAUTION_IDS, CHECK_CAUTIONS, WORK_ITEMS } from './work-catalogue-data-facts.js'
import { PRODUCT_CLASSES, type ProductClass } from './work-products.js'

/** Minutes from the shortest to the longest usual case. Common practice, no source. */
export type MinutesRange = readonly [number, number]

/** One job of the catalogue without its texts. */
export interface WorkItem {
  readonly id: string
  readonly section: Exclude<Section, 'line'>
  readonly kind: WorkKind
  /** Faults the job mends. */
  readonly mends: readonly CauseId[]
  /** Faults it mends where the jobs before it did not help: never named by a diagnosis alone. */
  readonly laterFor: readonly CauseId[]
  /** Check of the diagnosis that shows whether the job is needed. */
  readonly check?: string
  readonly people: number
  /** Only a licensed electrician may do it, or the part of it that is wired. */
  readonly needsElectrician: boolean
  readonly qualification: 'operator' | 'technician' | 'electrician'
  /** Filter, ducts, seals, guards: cannot be put off for long without a named engineer. */
  readonly safety: boolean
  readonly minutesByHand: MinutesRange
  readonly minutesWithWasher?: MinutesRange
  /** What it takes when the job has been left undone for long. */
  readonly minutesWhenNeglected?: MinutesRange
  /** Steps of isolation before the work, in order; ids of the isolation texts. */
  readonly isolation: readonly IsolationStep[]
  readonly cautions: readonly CautionId[]
  /** Classes of cleaner, lubricant or alloy approved for it. */
  readonly products: readonly ProductClass[]
  /** Hand-measured values that show that the job worked; empty where the check is by eye. */
  readonly passIf: readonly PassCriterion[]
  /** Job that must follow at once: until it is recorded the work is half done and the line must not run. */
  readonly followedBy?: string
  /** Jobs that this one calls for afterwards, while the line may run. */
  readonly leadsTo: readonly string[]
}

const WORK_KINDS = ['cleaning', 'lubrication', 'adjustment', 'top-up', 'repair', 'sample', 'inspection', 'response'] as const
/** `response`: what cannot wait, outside every budget. */
export type WorkKind = (typeof WORK_KINDS)[number]

/** A hand-measured value and the band in which the job counts as verified. */
export interface PassCriterion {
  /** Name under `values` of a record. */
  readonly value: string
  readonly unit: string
  readonly lower?: number
  readonly upper?: number
}

export type CautionId = (typeof CAUTION_IDS)[number]
/** D0 in order: stop and note, isolate, bleed pressure, verify, cool, cover the pot. */
export const ISOLATION_STEPS = ['stop-and-note', 'isolate-electricity', 'isolate-air-and-bleed', 'verify-zero-energy', 'cool-down', 'cover-pot'] as const
export type IsolationStep = (typeof ISOLATION_STEPS)[number]
/** Before a line runs again, in order. */
export const RETURN_STEPS = ['guards-on', 'tools-and-rags-out', 'people-clear', 'isolation-removed-by-owner', 'empty-run'] as const
export type ReturnStep = (typeof RETURN_STEPS)[number]

const minutesSchema = z.tuple([z.number().positive(), z.number().positive()]).refine(([shortest, longest]) => shortest <= longest, 'expected [shortest, longest]')

/** Form of one job; the catalogue is checked against it when it is loaded. */
export const workItemSchema = z.strictObject({
  id: z.string().regex(/^[a-z][a-z-]+$/),
  section: z.enum(['fluxer', 'preheat', 'transport', 'pot']),
  kind: z.enum(WORK_KINDS),
  mends: z.array(z.string()),
  laterFor: z.array(z.string()),
  check: z.string().optional(),
  people: z.int().min(1).max(8),
  needsElectrician: z.boolean(),
  qualification: z.enum(['operator', 'technician', 'electrician']),
  safety: z.boolean(),
  minutesByHand: minutesSchema,
  minutesWithWasher: minutesSchema.optional(),
  minutesWhenNeglected: minutesSchema.optional(),
  isolation: z.array(z.enum(ISOLATION_STEPS)).min(1),
  cautions: z.array(z.enum(CAUTION_IDS)).min(1),
  products: z.array(z.enum(PRODUCT_CLASSES)),
  passIf: z.array(z.strictObject({ value: z.string().regex(/^[a-z][A-Za-z0-9]*$/), unit: z.string(), lower: z.number().optional(), upper: z.number().optional() })),
  followedBy: z.string().optional(),
  leadsTo: z.array(z.string()),
})

const checked = z.array(workItemSchema).safeParse(WORK_ITEMS)
if (!checked.success) throw new Error(`work catalogue: ${z.prettifyError(checked.error)}`)

/** All jobs in the order in which they are gone through: the board's way, cleaning before lubricating before repair. */
export const WORK_CATALOGUE: readonly WorkItem[] = WORK_ITEMS

const ITEM_BY_ID = new Map(WORK_CATALOGUE.map((item) => [item.id, item]))

/**
 * A job by its id.
 * @throws Error for an id the catalogue does not hold
 */
export function workItem(id: string): WorkItem {
  const item = ITEM_BY_ID.get(id)
  if (item === undefined) throw new Error(`work catalogue has no job "${id}"`)
  return item
}

/** Whether the catalogue holds a job. */
export function isWork(id: string): boolean {
  return ITEM_BY_ID.has(id)
}

/** A cause worth work though it does not lead. */
const ALSO_WORTH_WORK = 0.2

/**
 * Jobs for a diagnosis in the order to do them: those of the leading fault first, then those of other faults with a
 * fifth of the weight or more. In a group the cleaning comes before the lubrication and both before any repair. Repairs
 * are named only for a fault, or a group's first member, that leads: parts are not changed on a guess.
 *
 * @returns ids; empty where no fault leads or follows closely; washing the chain is always followed by lubricating it
 */
export function workForCauses(causes: readonly RankedCause[]): string[] {
  const ids: string[] = []
  const add = (id: string): void => {
    if (ids.includes(id)) return
    ids.push(id)
    const next = workItem(id).followedBy
    if (next !== undefined) {
      if (ids.includes(next)) ids.splice(ids.indexOf(next), 1)
      ids.push(next)
    }
  }
  causes.forEach((cause, index) => {
    if (cause.kind !== 'fault' || (index > 0 && cause.probability < ALSO_WORTH_WORK)) return
    for (const id of workForCause(cause)) if (index === 0 || workItem(id).kind !== 'repair') add(id)
  })
  return ids
}

function workForCause(cause: RankedCause): string[] {
  const members = cause.members ?? [cause.cause as CauseId]
  // A group may hold faults of two sections; each is mended where it lives.
  const fits = (item: WorkItem, member: CauseId): boolean => item.section === cause.section || cause.section === 'line' || (cause.members !== undefined && item.section === sectionOf(member))
  const items = WORK_CATALOGUE.filter((item) => members.some((member) => item.mends.includes(member) && fits(item, member)))
  if (cause.members === undefined) return items.map((item) => item.id)
  const leading = members[0]!
  const gentle = items.filter((item) => item.kind !== 'repair')
  const repairs = items.filter((item) => item.kind === 'repair' && item.mends.includes(leading))
  return [...gentle, ...repairs].map((item) => item.id)
}

function sectionOf(cause: CauseId): Section | undefined {
  return (FAULT_FACTS as Readonly<Record<string, { section: Section } | undefined>>)[cause]?.section
}

/** Whether the job takes electricity, air or flux away from the machine. */
export function isolates(item: WorkItem): boolean {
  return item.isolation.some((step) => step.startsWith('isolate-'))
}

/** Steps before the line runs again after a job; one that isolates nothing has no lock to remove. */
export function returnStepsOf(item: WorkItem): readonly ReturnStep[] {
  return isolates(item) ? RETURN_STEPS : RETURN_STEPS.filter((step) => step !== 'isolation-removed-by-owner')
}

/** Cautions of a check and of jobs, in the order of the catalogue; never empty. */
export function cautionsFor(workIds: readonly string[], check: string): CautionId[] {
  const wanted = new Set<CautionId>(['other-rules-win', 'advice-only', ...cautionsOfCheck(check)])
  for (const id of workIds) {
    for (const caution of workItem(id).cautions) wanted.add(caution)
    if (workItem(id).needsElectrician) wanted.add('licensed-electrician')
  }
  return CAUTION_IDS.filter((id) => wanted.has(id))
}

/**
 * Cautions of a check.
 * @throws Error for a check that has none: every check at this machine needs some
 */
export function cautionsOfCheck(check: string): readonly CautionId[] {
  const cautions = CHECK_CAUTIONS[check]
  if (cautions === undefined || !Object.hasOwn(CHECK_CAUTIONS, check)) throw new Error(`work catalogue: check "${check}" has no cautions; expected one of ${CHECKS.map((facts) => facts.check).join(', ')}`)
  return cautions
}
