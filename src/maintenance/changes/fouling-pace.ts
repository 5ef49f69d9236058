import type { WorkRecord } from '../suggestion.js'

/** A section fouls this many times as fast as its own history before anybody looks upstream. */
const FASTER = 2
/** Earlier cleanings the pace rests on. */
const EARLIER_MIN = 3
const EARLIER_KEPT = 8

/** Plain JSON: production hours at the last record and paces (finding grades an hour) by work and zone. */
export interface FoulingPaceState {
  places: Record<string, { lastHours: number; paces: number[] }>
}

export interface FasterFouling {
  /** Usual production hours to a finding of the same grade, and those of now. */
  readonly usualHours: number
  readonly hours: number
}

/** What makes a section foul faster than its own history: more flux on the way than meant. Fluxer work to look at. */
export const UPSTREAM_WORK: readonly string[] = ['set-spray-stroke', 'swap-exhaust-filter', 'calibrate-dosing', 'align-nozzle']

export function createFoulingPace(): FoulingPaceState {
  return { places: {} }
}

/** Takes a cleaning with its finding. @param hours production hours of the line so far */
export function notePace(state: FoulingPaceState, record: WorkRecord, hours: number): FasterFouling | undefined {
  const key = `${record.work}${record.zone === undefined ? '' : `/${record.zone}`}`
  const place = (state.places[key] ??= { lastHours: -1, paces: [] })
  const sinceHours = place.lastHours < 0 ? undefined : hours - place.lastHours
  place.lastHours = hours
  if (sinceHours === undefined || sinceHours <= 0 || record.finding === undefined) return undefined
  const pace = record.finding / sinceHours
  const usual = median(place.paces)
  const earlier = place.paces.length
  place.paces.push(pace)
  if (place.paces.length > EARLIER_KEPT) place.paces.shift()
  if (earlier < EARLIER_MIN || usual === undefined || usual <= 0 || pace < FASTER * usual) return undefined
  return { usualHours: record.finding / usual, hours: sinceHours }
}

function median(values: readonly number[]): number | undefined {
  if (values.length === 0) return undefined
  const sorted = [...values].sort((a, b) => a - b)
  const middle = Math.floor(sorted.length / 2)
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2
}
