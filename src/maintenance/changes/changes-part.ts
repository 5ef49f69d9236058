import { channelKindOf } from '../../line/channels.js'
import type { LineDefinition } from '../../line/line-definition.js'
import type { Reading } from '../../line/reading.js'
import type { LineStateChange } from '../../line/state/line-state-change.js'
import type { RecordFact } from '../jobs/job-fact.js'
import type { MaintenanceEntry } from '../maintenance-entry.js'
import type { MaintenanceFact } from '../maintenance-fact.js'
import type { MaintenanceAsks, MaintenanceContext, MaintenancePart } from '../maintenance-part.js'
import { isWork, workItem } from '../work-catalogue.js'
import { createBoardLedger, noteBoardKind, noteBoards, tellStretch, type BoardLedgerState } from './board-ledger.js'
import type { ChangeKind } from './change-entry.js'
import type { ChangeFact } from './change-fact.js'
import { createFoulingPace, notePace, UPSTREAM_WORK, type FoulingPaceState } from './fouling-pace.js'
import { createSensorWatch, isSensor, noteLevel, noteSensor, noteStateOfSensors, type SensorWatchState } from './sensor-watch.js'
import { createSetPointWatch, isSetPoint, noteRecipe, noteSetPoint, noteStandstill, takeEdits, type SetPointWatchState } from './set-point-watch.js'

/** A stop this long changes what comes after it: the nozzle wants a purge. */
const LONG_STOP_MS = 30 * 60_000
/** The same thing told twice within this time is one change. */
const SAME_MS = 15 * 60_000
const RECENT_KEPT = 200

/** Plain JSON. */
interface ChangesState {
  setPoints: SetPointWatchState
  sensors: SensorWatchState
  boards: BoardLedgerState
  pace: FoulingPaceState
  recent: ChangeFact[]
  recipe: string
  stopMs: number
  productionMs: number
  productionSinceMs: number
}

function createState(): ChangesState {
  return {
    setPoints: createSetPointWatch(), sensors: createSensorWatch(), boards: createBoardLedger(), pace: createFoulingPace(),
    recent: [], recipe: '', stopMs: 0, productionMs: 0, productionSinceMs: 0,
  }
}

/** What changed at a line: one list from its channels, its records and what people enter, each thing once. */
export function createChangesPart(_definition: LineDefinition, snapshot: unknown): MaintenancePart {
  return new ChangesPart(structuredClone((snapshot as ChangesState | undefined) ?? createState()))
}

type NewChange = Omit<ChangeFact, 'type'>

class ChangesPart implements MaintenancePart {
  constructor(private readonly known: ChangesState) {}

  snapshot(): unknown {
    return structuredClone(this.known)
  }

  reading({ channel, value, timeMs }: Reading, context: MaintenanceContext, asks: MaintenanceAsks): void {
    if (typeof value === 'string') {
      if (channel === 'custom.lot') this.takeKind('lot', value, timeMs, asks)
      else if (channel === 'custom.order') this.takeKind('order', value, timeMs, asks)
      return
    }
    if (channel === 'board.count') {
      noteBoards(this.known.boards, value, timeMs, asks.emit)
      return
    }
    if (isSetPoint(channel)) {
      noteSetPoint(this.known.setPoints, channel, value, timeMs, context.state)
      return
    }
    if (context.state !== 'production') return
    if (isSensor(channel)) {
      const sinceMs = noteSensor(this.known.sensors, channel, value, timeMs)
      if (sinceMs !== undefined) this.say({ id: `change-frozen-${channel}-${sinceMs}`, timeMs: sinceMs, change: 'sensor-frozen', source: 'channel', ...placeOf(channel), to: value }, asks)
    }
    if (channel === 'pot.level') {
      const riseMm = noteLevel(this.known.sensors, value, timeMs)
      if (riseMm !== undefined) this.say({ id: `change-top-up-${timeMs}`, timeMs, change: 'top-up', source: 'channel', section: 'pot', channel, to: Math.round(riseMm * 10) / 10 }, asks)
    }
  }

  state(change: LineStateChange, _context: MaintenanceContext, asks: MaintenanceAsks): void {
    const { known } = this
    const { timeMs, state, previous, recipe } = change
    if (state === 'changeover') noteRecipe(known.setPoints, timeMs)
    if (recipe !== known.recipe) {
      if (known.recipe !== '' && recipe !== '') this.say({ id: `change-recipe-${timeMs}`, timeMs, change: 'recipe', source: 'channel', section: 'line', from: known.recipe, to: recipe }, asks)
      noteRecipe(known.setPoints, timeMs)
      known.recipe = recipe
      noteBoardKind(known.boards, 'recipe', recipe, asks.emit)
    }
    if (state === previous) return
    if (state === 'off') noteStandstill(known.setPoints, timeMs)
    noteStateOfSensors(known.sensors, timeMs)
    this.countProduction(change)
    const stopped = state === 'idle' || state === 'maintenance'
    if (stopped && known.stopMs === 0) known.stopMs = timeMs
    if (stopped || known.stopMs === 0) return
    const lengthMs = timeMs - known.stopMs
    if (lengthMs >= LONG_STOP_MS && state !== 'off') this.say({ id: `change-stop-${known.stopMs}`, timeMs, change: 'long-stop', source: 'channel', section: 'line', minutes: Math.round(lengthMs / 60_000) }, asks)
    known.stopMs = 0
  }

  tick(_evidence: unknown, context: MaintenanceContext, asks: MaintenanceAsks): void {
    const { edits, together } = takeEdits(this.known.setPoints, context.nowMs)
    for (const { channel, from, to, timeMs } of edits) this.say({ id: `change-set-point-${channel}-${timeMs}`, timeMs, change: 'set-point', source: 'channel', ...placeOf(channel), from, to }, asks)
    for (const group of together) this.say({ id: `change-together-${group[0]!.timeMs}`, timeMs: group[0]!.timeMs, change: 'recipe', source: 'channel', section: 'line', text: group.map(({ channel }) => channel).join(', ') }, asks)
    tellStretch(this.known.boards, asks.emit)
  }

  entry(entry: MaintenanceEntry, context: MaintenanceContext, asks: MaintenanceAsks): void {
    if (entry.type !== 'change') return
    const { id, change, text, zone, by } = entry
    const timeMs = Math.min(entry.timeMs, context.nowMs)
    if ((change === 'board-lot' || change === 'order') && text !== undefined) noteBoardKind(this.known.boards, change === 'order' ? 'order' : 'lot', text, asks.emit)
    this.say({ id: `change-${id}`, timeMs, change, source: 'entry', section: sectionOfKind(change), ...(text === undefined ? {} : { text }), ...(zone === undefined ? {} : { zone }), ...(by === undefined ? {} : { by }) }, asks)
  }

  fact(fact: MaintenanceFact, context: MaintenanceContext, asks: MaintenanceAsks): void {
    if (fact.type === 'record') this.takeRecord(fact, context, asks)
    if (fact.type !== 'round') return
    const kg = fact.measured.find(({ check, value }) => check === 'bars-added' && value === 'kg')?.measured ?? 0
    if (kg > 0) this.say({ id: `change-bars-${fact.id}`, timeMs: fact.timeMs, change: 'top-up', source: 'entry', section: 'pot', text: `${kg} kg` }, asks)
  }

  private takeRecord({ record, withdrawn, earlier }: RecordFact, context: MaintenanceContext, asks: MaintenanceAsks): void {
    const { id, timeMs, work, section, zone, by } = record
    const place = { section, ...(zone === undefined ? {} : { zone }) }
    const fact: NewChange = { id: `change-record-${id}`, timeMs, change: changeOfWork(work), source: 'record', work, ...place, ...(by === undefined ? {} : { by }), ...(withdrawn ? { withdrawn } : {}) }
    if (withdrawn || earlier.length > 0) {
      this.known.recent = this.known.recent.map((known) => (known.id === fact.id ? { type: 'change', ...fact } : known))
      asks.emit({ type: 'change', ...fact })
      return
    }
    this.say(fact, asks)
    const faster = notePace(this.known.pace, record, this.productionHours(context))
    if (faster !== undefined && section !== 'fluxer') {
      this.say({ id: `change-faster-${id}`, timeMs, change: 'fouls-faster', source: 'record', work, ...place, from: Math.round(faster.usualHours), to: Math.round(faster.hours), upstream: UPSTREAM_WORK }, asks)
    }
  }

  private takeKind(kind: 'lot' | 'order', value: string, timeMs: number, asks: MaintenanceAsks): void {
    const before = this.known.boards[kind]
    if (!noteBoardKind(this.known.boards, kind, value, asks.emit) || before === '') return
    this.say({ id: `change-${kind}-${timeMs}`, timeMs, change: kind === 'lot' ? 'board-lot' : 'order', source: 'channel', section: 'line', channel: `custom.${kind}`, from: before, to: value, text: value }, asks)
  }

  /** Says a change once: what is the same and near in time is one, and the words of people are added to it. */
  private say(change: NewChange, asks: MaintenanceAsks): void {
    const fact: ChangeFact = { type: 'change', ...change }
    const same = this.known.recent.find((known) => isSame(known, fact))
    if (same === undefined) {
      this.known.recent.push(fact)
      if (this.known.recent.length > RECENT_KEPT) this.known.recent.shift()
      asks.emit(fact)
      return
    }
    // What came first keeps its id and time; the later one fills in what is still missing.
    const { id: _id, timeMs: _timeMs, source: _source, ...more } = fact
    const merged: ChangeFact = { ...more, ...same }
    if (JSON.stringify(merged) === JSON.stringify(same)) return
    this.known.recent = this.known.recent.map((known) => (known === same ? merged : known))
    asks.emit(merged)
  }

  private countProduction({ timeMs, state, previous }: LineStateChange): void {
    const { known } = this
    if (previous === 'production' && known.productionSinceMs > 0) known.productionMs += Math.max(0, timeMs - known.productionSinceMs)
    known.productionSinceMs = state === 'production' ? timeMs : 0
  }

  private productionHours({ nowMs }: MaintenanceContext): number {
    const { productionMs, productionSinceMs } = this.known
    return (productionMs + (productionSinceMs > 0 ? Math.max(0, nowMs - productionSinceMs) : 0)) / 3_600_000
  }
}

/** Kinds that are the same when they are near in time, whoever tells them; of the others each is its own. */
const MERGED: readonly ChangeKind[] = ['recipe', 'set-point', 'long-stop', 'top-up', 'nozzle-refitted', 'chain-refitted', 'sensor-replaced', 'board-lot', 'order', 'flux-lot', 'alloy-lot', 'lubricant-lot', 'exhaust-work', 'jam']

function isSame(a: ChangeFact, b: ChangeFact): boolean {
  if (a.change !== b.change || !MERGED.includes(a.change) || Math.abs(a.timeMs - b.timeMs) > SAME_MS || a.withdrawn === true) return false
  const agree = (name: 'zone' | 'channel' | 'to' | 'text' | 'work'): boolean => a[name] === undefined || b[name] === undefined || a[name] === b[name]
  if (!agree('zone') || !agree('channel') || !agree('work')) return false
  // Two people's words are compared; bars go in one after the other; what a channel and a person say of one thing differs.
  return a.source !== b.source || a.change === 'top-up' || (agree('to') && agree('text'))
}

function placeOf(channel: string): Pick<ChangeFact, 'channel' | 'section' | 'zone'> {
  const kind = channelKindOf(channel)
  return { channel, section: kind?.channelKind.section ?? 'line', ...(kind?.zone === undefined ? {} : { zone: kind.zone }) }
}

const KIND_OF_WORK: Readonly<Record<string, ChangeKind>> = {
  'clean-nozzle': 'nozzle-refitted',
  'align-nozzle': 'nozzle-refitted',
  'swap-exhaust-filter': 'exhaust-work',
  'clean-chain': 'chain-refitted',
  'replace-chain-and-sprockets': 'chain-refitted',
  'replace-thermocouple': 'sensor-replaced',
  'replace-pot-probe': 'sensor-replaced',
  'top-up-pot': 'top-up',
}

function changeOfWork(work: string): ChangeKind {
  return KIND_OF_WORK[work] ?? (isWork(work) && workItem(work).kind === 'repair' ? 'repair' : 'work')
}

function sectionOfKind(change: ChangeKind): NonNullable<ChangeFact['section']> {
  if (change === 'flux-lot' || change === 'nozzle-refitted' || change === 'exhaust-work') return 'fluxer'
  if (change === 'lubricant-lot' || change === 'chain-refitted' || change === 'jam') return 'transport'
  if (change === 'alloy-lot' || change === 'top-up') return 'pot'
  return 'line'
}
