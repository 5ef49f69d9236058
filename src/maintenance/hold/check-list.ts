import type { LineDefinition } from '../../line/line-definition.js'
import { holdPoints, mendsAny, pointsFailedBy, type PlacedPoint } from './hold-checks.js'
import type { HoldCheck } from './hold-fact.js'
import type { HoldState, OpenHold } from './hold-state.js'

/** What was looked at so shortly before the hold, with the variation already there, counts for it. */
const BEFORE_HOLD_MS = 24 * 3_600_000

/** The list of a hold as it stands: in the board's order, each with its rank. */
export function checkList(definition: LineDefinition, state: HoldState, hold: OpenHold): readonly HoldCheck[] {
  const fromMs = Math.min(hold.sinceMs, Math.max(hold.onsetMs, hold.sinceMs - BEFORE_HOLD_MS))
  const judged = holdPoints(definition).map((point, index) => ({ point, index, ...judge(point, state, fromMs) }))
  const order = judged
    .map(({ point, index, done, failed }) => ({ index, urgency: done ? 4 : failed !== undefined ? 0 : isSuspected(point, hold) ? (mendsAny(point, hold.causes, definition) ? 1 : 2) : 3 }))
    .sort((a, b) => a.urgency - b.urgency || a.index - b.index)
    .map(({ index }) => index)
  return judged.map(({ point, index, done, how, doneMs, failed }) => ({
    check: point.check,
    section: point.section,
    ...(point.zone === undefined ? {} : { zone: point.zone }),
    done,
    ...(how === undefined ? {} : { how }),
    ...(doneMs === undefined ? {} : { doneMs }),
    minutes: point.minutes,
    rank: order.indexOf(index) + 1,
    handChecks: point.handChecks,
    works: point.works,
    ...(failed === undefined ? {} : { failed }),
  }))
}

type Judged = Pick<HoldCheck, 'done' | 'how' | 'doneMs' | 'failed'>

function judge(point: PlacedPoint, state: HoldState, fromMs: number): Judged {
  const recordedMs = recordedAt(point, state, 'passed')
  const failure = newestFailure(point, state, fromMs)
  // A failure stands until a later check by hand has passed, at a round or with the work itself.
  if (failure !== undefined && failure.timeMs >= recordedMs) return { done: false, failed: failure }
  const failedMs = recordedAt(point, state, 'failed')
  const [check] = point.handChecks
  if (check !== undefined && failedMs >= fromMs && failedMs > Math.max(recordedMs, passedAt(point, state))) return { done: false, failed: { roundCheck: check, reason: 'round.not-in-order', timeMs: failedMs, values: {} } }
  const undoneMs = Math.max(0, ...point.undoneBy.map((kind) => state.changedMs[kind] ?? 0))
  const workedMs = Math.max(0, ...point.works.map((work) => entryOf(state, work, point.zone)?.timeMs ?? 0))
  const passedMs = Math.max(passedAt(point, state), recordedMs)
  // A hand check before the newest work on the point says nothing of it any more.
  if (passedMs >= fromMs && passedMs >= workedMs && passedMs >= undoneMs) return { done: true, how: workedMs >= fromMs ? 'recorded' : 'inspected', doneMs: passedMs }
  if (workedMs >= fromMs) return point.handChecks.length === 0 && failedMs <= recordedMs ? { done: true, how: 'recorded', doneMs: workedMs } : { done: false, how: 'hand-check-missing' }
  const first = point.works[0]
  const lastMs = first === undefined ? 0 : (entryOf(state, first, point.zone)?.timeMs ?? 0)
  if (first !== undefined && lastMs > 0 && lastMs >= undoneMs && usedShare(state, first, point.zone) < 1) return { done: true, how: 'inside-interval', doneMs: lastMs }
  return { done: false }
}

type Recorded = HoldState['worked'][string]

/** When a record of a work of the point, or of one of its checks by itself, last said so of its own hand check; 0 for never. */
function recordedAt(point: PlacedPoint, state: HoldState, handCheck: Recorded['handCheck']): number {
  return Math.max(0, ...[...point.works, ...point.handChecks].map((name) => entryOf(state, name, point.zone)).flatMap((entry) => (entry === undefined || entry.handCheck !== handCheck ? [] : [entry.timeMs])))
}

function entryOf(state: HoldState, name: string, zone: number | undefined): Recorded | undefined {
  const [forAll, own] = [state.worked[name], zone === undefined ? undefined : state.worked[`${name}/${zone}`]]
  return own === undefined || (forAll !== undefined && forAll.timeMs > own.timeMs) ? forAll : own
}

/** When a hand check of the point was last passed at a round. */
function passedAt(point: PlacedPoint, state: HoldState): number {
  return Math.max(0, ...point.handChecks.map((check) => Math.max(state.passedMs[check] ?? 0, point.zone === undefined ? 0 : (state.passedMs[`${check}/${point.zone}`] ?? 0))))
}

function newestFailure(point: PlacedPoint, state: HoldState, fromMs: number): HoldState['failed'][string] | undefined {
  return Object.values(state.failed)
    .filter((failure) => failure.timeMs >= fromMs && pointsFailedBy(failure.roundCheck, failure.reason)(point))
    .filter((failure) => failure.values['zone'] === undefined || point.zone === undefined || failure.values['zone'] === point.zone)
    .sort((a, b) => b.timeMs - a.timeMs)[0]
}

/** Share of the learned interval used; infinite where none is learned. */
function usedShare(state: HoldState, work: string, zone: number | undefined): number {
  return (zone === undefined ? undefined : state.usedInterval[`${work}/${zone}`]) ?? state.usedInterval[work] ?? Number.POSITIVE_INFINITY
}

/** Defects that no channel of a section explains are looked for in the fluxer and at the fingers first. */
function isSuspected({ section, check }: PlacedPoint, { sections }: OpenHold): boolean {
  return sections.includes(section) || (sections.includes('line') && (section === 'fluxer' || check === 'fingers'))
}
