import type { JobFact } from './jobs/job-fact.js'
import { isOpenJob } from './jobs/job-steps.js'

/** Fields that hold the name of a person, wherever they stand. `holders` is a text where a refusal names whose lock is on. */
const NAMES: readonly string[] = ['by', 'engineer', 'holder', 'holders', 'suspendedBy']

/** Of these jobs the holders of locks stay. */
export type KeepsHolders = (job: JobFact) => boolean

/**
 * Plain data without the names of people that are older than a time. A name is as old as the newest time that stands
 * beside it, else as what it stands in; one without any time has nothing that keeps it.
 *
 * Whose lock is on stays whatever its age: each owner removes the own lock, and others must know whose it is.
 *
 * @param value a fact, a suggestion, the state of a part: JSON data; it is not changed
 * @param beforeMs names from before this time go, ms UTC
 * @param keepsHolders jobs whose locks may still be on. @default jobs that are open as they stand
 * @returns the same object where nothing had to go
 */
export function withoutNamesBefore<T>(value: T, beforeMs: number, keepsHolders: KeepsHolders = isOpenJob): T {
  return forgotten(value, Number.NEGATIVE_INFINITY, beforeMs, keepsHolders) as T
}

function forgotten(value: unknown, aroundMs: number, beforeMs: number, keepsHolders: KeepsHolders): unknown {
  if (typeof value !== 'object' || value === null) return value
  if (Array.isArray(value)) {
    const items = value.map((item) => forgotten(item, aroundMs, beforeMs, keepsHolders))
    return items.some((item, index) => item !== value[index]) ? items : value
  }
  const fields = value as Readonly<Record<string, unknown>>
  const timeMs = timeOf(fields) ?? aroundMs
  const isLocked = fields['type'] === 'job' && Array.isArray(fields['holders']) && keepsHolders(value as JobFact)
  let changed = false
  const kept: Record<string, unknown> = {}
  for (const [name, inside] of Object.entries(fields)) {
    if (NAMES.includes(name) && typeof inside === 'string') {
      if (timeMs < beforeMs) changed = true
      else kept[name] = inside
      continue
    }
    kept[name] = isLocked && (name === 'holders' || name === 'isolation') ? inside : forgotten(inside, timeMs, beforeMs, keepsHolders)
    changed ||= kept[name] !== inside
  }
  return changed ? kept : value
}

/** The newest time an object says of itself, ms UTC; durations among them are too small to count. */
function timeOf(fields: Readonly<Record<string, unknown>>): number | undefined {
  const times = Object.entries(fields).flatMap(([name, value]) => (name.endsWith('Ms') && typeof value === 'number' ? [value] : []))
  return times.length === 0 ? undefined : Math.max(...times)
}
