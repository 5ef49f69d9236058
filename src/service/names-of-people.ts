import type { LineDefinition } from '../line/line-definition.js'
import type { MaintenanceFact } from '../maintenance/maintenance-fact.js'
import { withoutNamesBefore } from '../maintenance/names-forgotten.js'
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

/** Names from before this time are not kept, ms UTC. */
export function namesKeptSinceMs({ people }: People, nowMs: number): number {
  return nowMs - (people?.keepDays ?? KEEP_DAYS) * DAY_MS
}

/** A fact or a suggestion as it may be shown: without the names of people that are older than the site keeps them. */
export function withinRetention<Shown extends MaintenanceFact | Suggestion>(shown: Shown, definition: People, nowMs: number): Shown {
  return withoutNamesBefore(shown, namesKeptSinceMs(definition, nowMs))
}
