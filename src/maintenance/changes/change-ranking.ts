import type { Section } from '../../line/feature-value.js'
import type { BoardsFact } from './boards-fact.js'
import type { ChangeFact } from './change-fact.js'

/** An onset is known to about this; what happened so shortly after it may still be its reason. [ASM] */
export const ONSET_DOUBT_MS = 60 * 60_000
/** A change loses half of its weight as a reason every day before the onset. [ASM] */
const HALF_LIFE_MS = 24 * 3_600_000
/** Weight of a change elsewhere on the line, of one up the board's way, and of one that touches the whole line. [ASM] */
const ELSEWHERE = 0.25
const UPSTREAM = 0.7
const WHOLE_LINE = 0.8
const WAY: readonly Section[] = ['fluxer', 'preheat', 'transport', 'pot']
/** What cannot be a reason by itself, only a sign. */
const NO_REASON: readonly string[] = ['sensor-frozen', 'fouls-faster']

export interface RankedChange {
  readonly change: ChangeFact
  /** It came before the change in the charts began, as far as that is known. */
  readonly beforeOnset: boolean
  /** Minutes before the onset; negative after it. */
  readonly minutesBefore: number
  /** 0-1: near in time and place, and rare. What came clearly after the onset has 0. */
  readonly weight: number
}

/**
 * Changes as candidate reasons for what began at an onset, the most likely first, by time and place: the section itself,
 * then what lies up the board's way, then what touches the whole line. What happens every shift explains little: a
 * kind that came n times counts for an n-th. A look before any blame, no proof.
 */
export function rankChanges(changes: readonly ChangeFact[], onsetMs: number, section: Section, zone?: number): readonly RankedChange[] {
  const valid = changes.filter(({ withdrawn }) => withdrawn !== true)
  const timesOf = (change: ChangeFact): number => valid.filter((other) => other.change === change.change && other.work === change.work && other.channel === change.channel).length
  return valid
    .map((change) => {
      const beforeMs = onsetMs - change.timeMs
      const beforeOnset = beforeMs >= -ONSET_DOUBT_MS
      const nearness = beforeOnset ? 2 ** (-Math.max(0, beforeMs) / HALF_LIFE_MS) : 0
      return { change, beforeOnset, minutesBefore: Math.round(beforeMs / 60_000), weight: NO_REASON.includes(change.change) ? 0 : (nearness * placeWeight(change, section, zone)) / timesOf(change) }
    })
    .sort((a, b) => b.weight - a.weight || b.change.timeMs - a.change.timeMs)
}

function placeWeight(change: ChangeFact, section: Section, zone: number | undefined): number {
  const at = change.section ?? 'line'
  if (at === 'line') return WHOLE_LINE
  // Defects belong to no section: every place on the way may be their reason, the fluxer first.
  if (section === 'line') return at === 'fluxer' ? 1 : UPSTREAM
  if (at === section) return zone === undefined || change.zone === undefined || change.zone === zone ? 1 : UPSTREAM
  return WAY.indexOf(at) < WAY.indexOf(section) ? UPSTREAM : ELSEWHERE
}

/** Boards, lots, orders and recipes made since a time. A stretch that began before it counts whole: nothing is left out. */
export interface BoardsSince {
  readonly boards: number
  readonly lots: readonly string[]
  readonly orders: readonly string[]
  readonly recipes: readonly string[]
  readonly stretches: readonly BoardsFact[]
}

export function boardsSince(facts: readonly BoardsFact[], sinceMs: number): BoardsSince {
  const stretches = facts.filter(({ untilMs }) => untilMs >= sinceMs).sort((a, b) => a.fromMs - b.fromMs)
  const names = (pick: (fact: BoardsFact) => string | undefined): string[] => [...new Set(stretches.map(pick).filter((name): name is string => name !== undefined && name !== ''))]
  return { boards: stretches.reduce((sum, { boards }) => sum + boards, 0), lots: names(({ lot }) => lot), orders: names(({ order }) => order), recipes: names(({ recipe }) => recipe), stretches }
}
