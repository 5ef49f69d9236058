import type { LineDefinition } from '../../line/line-definition.js'
import type { SiteWork } from '../../line/site-work.js'
import { siteCatalogue } from '../site-catalogue.js'
import type { WorkItem } from '../work-catalogue.js'
import type { IntervalScale } from './interval-fact.js'
import { START_INTERVALS, type UsualInterval } from './usual-intervals.js'

/** How often a job is done before anything is known of the line. */
export interface StartInterval {
  readonly work: string
  readonly grows: UsualInterval['grows']
  /** What to start with, in the unit of its scale. */
  readonly start: { readonly amount: number; readonly scale: IntervalScale }
  /** Whether the site has set it, and with it the scale to begin on. */
  readonly own: boolean
}

/** A job at a place of the line, and how often it is done to begin with. */
export interface IntervalPlace {
  readonly start: StartInterval
  /** The job as it holds at the site. */
  readonly item: WorkItem
  readonly section: WorkItem['section']
  readonly zone?: number
}

const START_OF = new Map(START_INTERVALS.map((interval) => [interval.work, interval]))

/** All jobs of the line that are done at intervals, the site's own as well; once for each zone in the preheat. */
export function intervalPlaces(definition: LineDefinition): readonly IntervalPlace[] {
  return siteCatalogue(definition).items.flatMap((item): IntervalPlace[] => {
    const start = startOf(item, definition.siteWork)
    if (start === undefined) return []
    const { id, section } = item
    const ownJob = definition.siteWork?.jobs.find((job) => job.id === id)
    if (section !== 'preheat' || (ownJob !== undefined && ownJob.interval?.perZone !== true)) return [{ start, item, section }]
    return definition.machine.zones.flatMap(({ blower, kind }, index) => {
      if (id === 'clean-blower' && blower === 'none') return []
      // Convection zones have no emitters to clean.
      if (id === 'clean-emitters' && kind === 'convection') return []
      return [{ start, item, section, zone: index + 1 }]
    })
  })
}

function startOf({ id, kind }: WorkItem, site: SiteWork | undefined): StartInterval | undefined {
  const usual = START_OF.get(id)
  const own = site?.edits[id]?.interval ?? site?.jobs.find((job) => job.id === id)?.interval
  if (usual === undefined && own === undefined) return undefined
  return {
    work: id,
    grows: usual?.grows ?? (kind === 'cleaning' ? 'deposit' : 'use'),
    start: own === undefined ? { amount: usual!.startHours, scale: 'running-hours' } : { amount: own.start, scale: own.scale },
    own: own !== undefined,
  }
}

export function placeKey(work: string, zone: number | undefined): string {
  return zone === undefined ? work : `${work} ${zone}`
}
