import type { LineDefinition } from '../../line/line-definition.js'
import { WORK_CATALOGUE, type WorkItem } from '../work-catalogue.js'

/** Work as far as a full service asks for it. */
export interface ServiceWork {
  readonly work: string
  readonly section?: string
  readonly zone?: number
  readonly timeMs: number
}

export interface SectionService {
  readonly section: WorkItem['section']
  /** Preheat zone from 1. */
  readonly zone?: number
  /** When the last full service was complete, ms UTC; absent: there was none yet. */
  readonly servicedMs?: number
  /** Jobs not done within the last weeks before `timeMs` that a full service asks for. */
  readonly missing: readonly string[]
}

/** A record of this work says that everything of the section was cleaned. */
export const FULL_SERVICE = 'full-service'
/** All jobs of a section within this time are one full service. [ASM] */
export const SERVICE_SPAN_MS = 14 * 86_400_000
const SECTIONS = ['fluxer', 'preheat', 'transport', 'pot'] as const

/**
 * Sections, and zones of the preheat, with their last full service: every cleaning and lubrication job of the catalogue
 * that mends a fault and that the machine has, or one record of the work `full-service`.
 */
export function sectionsServiced(works: readonly ServiceWork[], definition: LineDefinition): readonly SectionService[] {
  return SECTIONS.flatMap((section): SectionService[] => {
    if (section !== 'preheat') return [serviceOf(section, undefined, works, definition)]
    return definition.machine.zones.map((_zone, index) => serviceOf(section, index + 1, works, definition))
  })
}

/** Jobs that a full service of a place asks for. */
export function serviceJobs(section: WorkItem['section'], zone: number | undefined, definition: LineDefinition): readonly string[] {
  const facts = zone === undefined ? undefined : definition.machine.zones[zone - 1]
  return WORK_CATALOGUE.filter((item) => {
    if (item.section !== section || item.mends.length === 0 || (item.kind !== 'cleaning' && item.kind !== 'lubrication')) return false
    // Jobs on parts that the zone does not have are not asked for.
    if (item.id === 'clean-blower') return facts?.blower !== 'none'
    if (item.id === 'clean-emitters') return facts?.kind === 'radiant'
    return true
  }).map(({ id }) => id)
}

function serviceOf(section: WorkItem['section'], zone: number | undefined, works: readonly ServiceWork[], definition: LineDefinition): SectionService {
  const jobs = serviceJobs(section, zone, definition)
  const here = works.filter((work) => work.section === undefined || work.section === section).filter((work) => zone === undefined || work.zone === undefined || work.zone === zone)
  const done = here.filter(({ work }) => work === FULL_SERVICE || jobs.includes(work)).sort((a, b) => a.timeMs - b.timeMs)
  let servicedMs: number | undefined
  const last = new Map<string, number>()
  for (const { work, timeMs } of done) {
    for (const job of work === FULL_SERVICE ? jobs : [work]) last.set(job, timeMs)
    if (jobs.every((job) => timeMs - (last.get(job) ?? -Infinity) <= SERVICE_SPAN_MS)) servicedMs = timeMs
  }
  const newest = done.at(-1)?.timeMs ?? 0
  const missing = servicedMs === undefined ? jobs.filter((job) => newest - (last.get(job) ?? -Infinity) > SERVICE_SPAN_MS) : []
  return { section, ...(zone === undefined ? {} : { zone }), ...(servicedMs === undefined ? {} : { servicedMs }), missing }
}
