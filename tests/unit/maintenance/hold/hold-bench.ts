import type { FeatureEvidence } from '../../../../src/line/diagnosis.js'
import { createChangesPart } from '../../../../src/maintenance/changes/changes-part.js'
import { holdPoints } from '../../../../src/maintenance/hold/hold-checks.js'
import type { HoldFact } from '../../../../src/maintenance/hold/hold-fact.js'
import { createHoldPart } from '../../../../src/maintenance/hold/hold-part.js'
import type { RoundItem } from '../../../../src/maintenance/rounds/round-entry.js'
import { createRoundsPart } from '../../../../src/maintenance/rounds/rounds-part.js'
import type { Suggestion, SuggestionStatus, WorkRecord } from '../../../../src/maintenance/suggestion.js'
import { definitionWith, HOUR, MONDAY, nextId, PartBench } from '../rounds/part-bench.js'

/** Rounds, changes and hold of one line, without anything else. */
export function holdBench(input: Parameters<typeof definitionWith>[0] = {}): PartBench {
  const bench = new PartBench(definitionWith({ machine: { conveyor: { chainPitchMm: 25.4 } }, rounds: { values: { 'weigh-dose.grams': { target: 4.2 }, 'look-at-exhaust-filter.pressure': { target: 50 } } }, ...input }), [createRoundsPart, createChangesPart, createHoldPart])
  bench.nowMs = MONDAY + 7 * HOUR
  return bench
}

export function suggest(bench: PartBench, options: { readonly id?: string; readonly status?: SuggestionStatus; readonly cause?: string; readonly section?: Suggestion['section']; readonly kind?: 'fault' | 'benign' } = {}): void {
  const { id = 's-1', status = 'open', cause = 'dirty-chain', section = 'transport', kind = 'fault' } = options
  const suggestion: Suggestion = {
    id, line: 'line-a', raisedMs: bench.nowMs, section, causes: [{ cause, section, kind, probability: 0.8 }], evidence: [], checkFirst: { check: 'look-at-chain', minutes: 6, needsElectrician: false },
    work: [], cautions: ['advice-only'], onsetMs: bench.nowMs - 3 * HOUR, abstains: false, urgency: 'soon', invisible: [], features: [], status, statusMs: bench.nowMs, history: [],
  }
  bench.run((part, context, asks) => part.suggestion?.(suggestion, context, asks))
}

export function standing(feature: string, status: 'up' | 'down' = 'up'): FeatureEvidence {
  return { feature, status, shiftSigma: 4, shift: 1, centre: 1, onsetMs: MONDAY + 5 * HOUR, windows: 4, trend: 'steady' }
}

export function hold(bench: PartBench): HoldFact | undefined {
  return bench.last('hold')
}

export function enterRound(bench: PartBench, ...items: RoundItem[]): void {
  bench.nowMs += 60_000
  bench.enter({ type: 'round', id: nextId(), timeMs: bench.nowMs, round: 'event', items })
}

/** Values in the middle of their limits. */
const GOOD: Readonly<Record<string, Readonly<Record<string, number>>>> = {
  'weigh-dose': { grams: 4.2 }, 'pressure-hold': { loss: 1 }, 'contact-time': { left: 3, right: 3 }, 'compare-speed-under-load': { empty: 20, loaded: 20.1 },
  'chain-length': { length: 508, links: 20 }, 'wave-gauge': { height: 9 }, 'reference-probe': { probe: 255, reading: 255.5 }, 'profile-board': { topside: 110 },
}

export function goodItem(check: string, zone?: number): RoundItem {
  const values = GOOD[check]
  return { check, ok: true, ...(zone === undefined ? {} : { zone }), ...(values === undefined ? { finding: 0 } : { values }) }
}

/** Every hand check of the list, passed. */
export function passAll(bench: PartBench): void {
  const items = holdPoints(bench.definition).flatMap(({ handChecks, zone }) => handChecks.map((check) => goodItem(check, zone)))
  enterRound(bench, ...items.filter((item, index) => items.findIndex(({ check, zone }) => check === item.check && zone === item.zone) === index))
}

/** A record of work a minute later. @returns its id */
export function tellRecord(bench: PartBench, record: Omit<WorkRecord, 'id' | 'timeMs'>): string {
  bench.nowMs += 60_000
  const id = nextId()
  bench.tell({ type: 'record', id, timeMs: bench.nowMs, record: { id, timeMs: bench.nowMs, ...record }, earlier: [], withdrawn: false })
  return id
}
