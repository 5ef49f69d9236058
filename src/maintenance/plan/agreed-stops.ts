import { itemFacts, type DueItem } from './due-items.js'
import type { PlanLine } from './stop-drafts.js'
import type { ShiftWindow } from './plan-week-calendar.js'
import type { AgreedStop } from './plan-entry.js'
import { setUpFigures } from './stop-schedule.js'
import type { PlannedStop } from './week-plan.js'
import { siteCatalogue } from '../site-catalogue.js'
import type { LineDefinition } from '../../line/line-definition.js'

const MINUTE_MS = 60_000

/** What was agreed, as it was agreed; jobs that are still due carry what is known of them now. */
export function agreedAsPlanned({ definition, agreed = [], units }: PlanLine, shifts: readonly ShiftWindow[]): PlannedStop[] {
  const items = units.flatMap((unit) => unit.items)
  const figures = setUpFigures(definition)
  return agreed.map((stop): PlannedStop => {
    const shift = shifts.find(({ fromMs, untilMs, name }) => name === stop.shift && fromMs <= stop.fromMs && stop.untilMs <= untilMs)
    const jobs = stop.jobs.map((job) => ({ item: items.find(({ work, zone }) => work === job.work && zone === job.zone) ?? agreedItem(job, definition), fromMs: job.fromMs, untilMs: job.untilMs }))
    return {
      id: stop.id,
      line: definition.line,
      fromMs: stop.fromMs,
      untilMs: stop.untilMs,
      shift: stop.shift,
      production: shift?.production ?? true,
      people: stop.people,
      // A shift that was changed since still had the people when the week was agreed.
      peopleOnShift: Math.max(shift?.people ?? stop.people, stop.people),
      setUp: setUpOf(stop, jobs, figures),
      sharedMinutes: 0,
      jobs,
      agreed: true,
      late: false,
    }
  })
}

/** The minutes around the jobs, read from the agreed times: what is told adds up to the agreed length. */
function setUpOf(stop: AgreedStop, jobs: PlannedStop['jobs'], figures: ReturnType<typeof setUpFigures>): PlannedStop['setUp'] {
  const { isolation, back } = figures
  const tailMinutes = (stop.untilMs - Math.max(...jobs.map(({ untilMs }) => untilMs))) / MINUTE_MS
  const coldMinutes = (Math.min(...jobs.filter(({ item }) => item.needsCold).map(({ fromMs }) => fromMs)) - stop.fromMs) / MINUTE_MS - isolation
  return {
    isolation,
    coolDown: Number.isFinite(coldMinutes) && coldMinutes >= figures.coolDown ? figures.coolDown : 0,
    back,
    warmUp: Number.isFinite(tailMinutes) ? Math.max(0, tailMinutes - back) : 0,
  }
}

function agreedItem(job: AgreedStop['jobs'][number], definition: LineDefinition): DueItem {
  const { line } = definition
  // A job that the site has dropped from its catalogue since stays in the agreed week.
  const item = siteCatalogue(definition).item(job.work)
  const minutes = Math.round((job.untilMs - job.fromMs) / MINUTE_MS)
  return {
    id: [line, job.work, ...(job.zone === undefined ? [] : [String(job.zone)])].join('/'),
    line,
    work: job.work,
    section: job.section,
    ...(job.zone === undefined ? {} : { zone: job.zone }),
    urgency: 'plan',
    safety: false,
    ...(item === undefined ? { needsElectrician: false, needsCold: false } : itemFacts(item, { definition })),
    people: job.people,
    minutes: { low: minutes, likely: minutes, planned: minutes, basis: 'hand', records: 0 },
    parts: [],
    because: [{ key: 'because.agreed', values: {} }],
    mustFinish: false,
  }
}

/** A planned stop in the form in which it is agreed. */
export function asAgreed(stop: PlannedStop): AgreedStop {
  return {
    id: stop.id,
    fromMs: stop.fromMs,
    untilMs: stop.untilMs,
    shift: stop.shift,
    people: stop.people,
    jobs: stop.jobs.map(({ item, fromMs, untilMs }) => ({ work: item.work, section: item.section, ...(item.zone === undefined ? {} : { zone: item.zone }), fromMs, untilMs, people: item.people })),
  }
}
