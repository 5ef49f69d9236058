import type { LineDefinition } from '../line/line-definition.js'
import type { MaintenanceFact } from '../maintenance/maintenance-fact.js'
import type { Suggestion } from '../maintenance/suggestion.js'
import type { LineInput } from '../monitor/line-event.js'

const DAY_MS = 86_400_000
const KEEP_DAYS = 365

type People = Pick<LineDefinition, 'people'>

/** Stands for the name of an engineer where the site keeps none: that one answered is kept, not who. */
const AN_ENGINEER = 'engineer'

/**
 * An input without the names of people where the site keeps none. Who puts on and removes a lock stays: others must know
 * whose it is until it is off.
 */
export function withoutNames(input: LineInput, { people }: People): LineInput {
  if (people?.names !== 'none') return input
  switch (input.kind) {
    case 'record': {
      const { by: _by, ...record } = input.record
      return { ...input, record }
    }
    case 'reply': {
      const { by: _by, ...reply } = input.reply
      return { ...input, reply: engineerUnnamed(reply) }
    }
    case 'entry': {
      const { entry } = input
      if (entry.type === 'job' && (entry.action === 'isolate' || entry.action === 'release-isolation')) return input
      if (entry.type === 'hold' && entry.by !== undefined && entry.action !== 'explain-change') return { ...input, entry: { ...entry, by: AN_ENGINEER } }
      const { by: _by, ...named } = entry
      const rest = engineerUnnamed(named)
      if (rest.type !== 'correction' || rest.record === undefined) return { ...input, entry: rest as typeof entry }
      const { by: _recordBy, ...record } = rest.record
      return { ...input, entry: { ...rest, record } }
    }
    case 'baseline': {
      const { by: _by, ...rest } = input
      return rest
    }
    default:
      return input
  }
}

function engineerUnnamed<T extends object>(input: T): T {
  return 'engineer' in input && input.engineer !== undefined ? { ...input, engineer: AN_ENGINEER } : input
}

/** A fact as it may be shown: names of people are left out once they are older than the site keeps them. */
export function withinRetention<Fact extends MaintenanceFact>(fact: Fact, { people }: People, nowMs: number): Fact {
  return nowMs - fact.timeMs <= (people?.keepDays ?? KEEP_DAYS) * DAY_MS ? fact : withoutNamesInFact(fact)
}

/** A suggestion as it may be shown, without the names of who answered it longer ago than the site keeps them. */
export function suggestionWithinRetention(suggestion: Suggestion, { people }: People, nowMs: number): Suggestion {
  const keptMs = nowMs - (people?.keepDays ?? KEEP_DAYS) * DAY_MS
  if (suggestion.history.every(({ timeMs }) => timeMs >= keptMs)) return suggestion
  return { ...suggestion, history: suggestion.history.map((step) => (step.timeMs >= keptMs ? step : (strip(step) as typeof step))) }
}

/** A fact without the names of people, for reports and for what is older than the site keeps them. */
export function withoutNamesInFact<Fact extends MaintenanceFact>(fact: Fact): Fact {
  return strip(fact) as Fact
}

const NAMES: readonly string[] = ['by', 'engineer', 'holder']

function strip(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(strip)
  if (typeof value !== 'object' || value === null) return value
  return Object.fromEntries(Object.entries(value).flatMap(([name, inside]) => (NAMES.includes(name) && typeof inside === 'string' ? [] : [[name, strip(inside)]])))
}
