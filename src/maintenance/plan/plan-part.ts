import type { CreateMaintenancePart, MaintenancePart } from '../maintenance-part.js'
import type { EmitFact, MaintenanceFact } from '../maintenance-fact.js'
import { siteCatalogue, type SiteCatalogue } from '../site-catalogue.js'
import { INSTRUMENTS, type PaperEntry, type PlanEntry, type StockEntry, type StopEntry } from './plan-entry.js'
import type { PlanFact, StopFact, StopStatus } from './plan-fact.js'
import { isIsoWeek } from './plan-week-calendar.js'
import { afterRecord, counted, moved, moveOf, stockFact, stockNow, type StockState } from './stock-book.js'

/** Weeks, stops and consequences kept at hand for later entries; older ones are in the history. */
const WEEKS_KEPT = 60
const STOPS_KEPT = 400
const CONSEQUENCES_KEPT = 50

interface PlanPartState {
  readonly plans: PlanFact[]
  readonly stops: StopFact[]
  readonly stock: StockState[]
}

type Refusal = { readonly reason: string; readonly values: Readonly<Record<string, number | string>> }

/** Which actions a stop allows. */
const ALLOWED: Readonly<Record<StopStatus, readonly StopEntry['action'][]>> = {
  asked: ['grant', 'refuse', 'withdraw', 'followed'],
  granted: ['followed', 'withdraw', 'refuse'],
  refused: ['grant', 'followed', 'withdraw'],
  withdrawn: ['followed'],
}
const STATUS_AFTER: Readonly<Record<'grant' | 'refuse' | 'withdraw', StopStatus>> = { grant: 'granted', refuse: 'refused', withdraw: 'withdrawn' }

/** Agreed weeks, the ledger of stops, stock and papers of one line. */
export const createPlanPart: CreateMaintenancePart = (definition, snapshot): MaintenancePart => {
  const catalogue = siteCatalogue(definition)
  const from = snapshot as PlanPartState | undefined
  const state: PlanPartState = { plans: [...(from?.plans ?? [])], stops: [...(from?.stops ?? [])], stock: [...(from?.stock ?? [])] }

  return {
    entry(entry, _context, { emit }) {
      const refusal = entry.type === 'plan' ? takePlan(state, entry, catalogue, emit) : entry.type === 'stop' ? takeStop(state, entry, catalogue, emit) : entry.type === 'stock' ? takeStock(state, entry, emit) : undefined
      const paperRefusal = entry.type === 'paper' ? takePaper(entry, catalogue, emit) : undefined
      const refused = refusal ?? paperRefusal
      if (refused !== undefined) emit({ type: 'refused', id: `refused-${entry.id}`, timeMs: entry.timeMs, entry: entry.id, ...refused })
    },
    fact(fact, { nowMs }, { emit }) {
      if (fact.type !== 'record') return
      for (const next of afterRecord(state.stock, fact)) keepStock(state, next, nowMs, emit)
    },
    snapshot: () => ({ plans: [...state.plans], stops: [...state.stops], stock: [...state.stock] }),
  }
}

function takePlan(state: PlanPartState, entry: PlanEntry, catalogue: SiteCatalogue, emit: EmitFact): Refusal | undefined {
  if (!isIsoWeek(entry.week)) return { reason: 'plan.no-such-week', values: { week: entry.week } }
  const known = state.plans.find(({ week }) => week === entry.week)
  if (entry.action === 'agree' && known?.agreed === true) return { reason: 'plan.week-agreed', values: { week: entry.week } }
  if (entry.action === 'reopen') {
    if (known?.agreed !== true) return { reason: 'plan.week-not-agreed', values: { week: entry.week } }
    if (entry.reason === undefined) return { reason: 'plan.reason-missing', values: { week: entry.week } }
  }
  const unknown = entry.stops.flatMap(({ jobs }) => jobs).find(({ work }) => catalogue.item(work) === undefined)
  if (unknown !== undefined) return { reason: 'plan.unknown-work', values: { work: unknown.work } }
  const backwards = entry.stops.find((stop) => stop.untilMs <= stop.fromMs)
  if (backwards !== undefined) return { reason: 'plan.stop-without-length', values: { stop: backwards.id } }
  const fact: PlanFact = {
    type: 'plan',
    id: `plan-${entry.week}`,
    timeMs: entry.timeMs,
    week: entry.week,
    agreed: entry.action === 'agree',
    // A week that is opened again keeps what was agreed before, for people to look back at.
    stops: entry.action === 'agree' ? entry.stops : (known?.stops ?? []),
    ...(entry.by === undefined ? {} : { by: entry.by }),
    ...(entry.reason === undefined ? {} : { reason: entry.reason }),
  }
  keep(state.plans, fact, WEEKS_KEPT, emit)
  return undefined
}

function takeStop(state: PlanPartState, entry: StopEntry, catalogue: SiteCatalogue, emit: EmitFact): Refusal | undefined {
  const id = entry.stop ?? `stop-${entry.id}`
  const known = state.stops.find((stop) => stop.id === id)
  const unknownWork = entry.work?.find((work) => catalogue.item(work) === undefined)
  if (unknownWork !== undefined) return { reason: 'plan.unknown-work', values: { work: unknownWork } }
  if (entry.action === 'ask') {
    if (known !== undefined) return { reason: 'stop.already-asked', values: { stop: id, status: known.status } }
    keep(state.stops, { type: 'stop', id, timeMs: entry.timeMs, status: 'asked', askedMs: entry.timeMs, work: entry.work ?? [], followed: [], ...stopDetails(entry) }, STOPS_KEPT, emit)
    return undefined
  }
  if (known === undefined) return { reason: 'stop.unknown', values: { stop: id } }
  if (!ALLOWED[known.status].includes(entry.action)) return { reason: 'stop.not-possible-now', values: { stop: id, status: known.status, action: entry.action } }
  if (entry.action === 'refuse' && entry.reason === undefined) return { reason: 'stop.reason-missing', values: { stop: id } }
  if (entry.action === 'followed') {
    if (entry.followed === undefined) return { reason: 'stop.nothing-said', values: { stop: id } }
    keep(state.stops, { ...known, timeMs: entry.timeMs, followed: [...known.followed, { ...entry.followed, timeMs: entry.timeMs }].slice(-CONSEQUENCES_KEPT) }, STOPS_KEPT, emit)
    return undefined
  }
  keep(state.stops, { ...known, ...stopDetails(entry), timeMs: entry.timeMs, status: STATUS_AFTER[entry.action], answeredMs: entry.timeMs }, STOPS_KEPT, emit)
  return undefined
}

function stopDetails({ fromMs, minutes, people, section, reason, by }: StopEntry): Partial<Pick<StopFact, 'fromMs' | 'minutes' | 'people' | 'section' | 'reason' | 'by'>> {
  return {
    ...(fromMs === undefined ? {} : { fromMs }),
    ...(minutes === undefined ? {} : { minutes }),
    ...(people === undefined ? {} : { people }),
    ...(section === undefined ? {} : { section }),
    ...(reason === undefined ? {} : { reason }),
    ...(by === undefined ? {} : { by }),
  }
}

function takeStock(state: PlanPartState, entry: StockEntry, emit: EmitFact): Refusal | undefined {
  const known = state.stock.find(({ item }) => item === entry.item)
  if (entry.move === undefined) {
    if (entry.ready === undefined) return { reason: 'stock.no-count', values: { item: entry.item } }
    keepStock(state, counted({ ...entry, ready: entry.ready }, known), entry.timeMs, emit)
    return undefined
  }
  if (known === undefined) return { reason: 'stock.not-counted', values: { item: entry.item } }
  const there = stockNow(known)[entry.move === 'to-washer' ? 'dirty' : 'atWasher']
  if ((entry.count ?? 1) > there) return { reason: `stock.not-so-many-${entry.move}`, values: { item: entry.item, count: there } }
  keepStock(state, moved(known, entry.id, moveOf(entry)), entry.timeMs, emit)
  return undefined
}

function keepStock(state: PlanPartState, next: StockState, timeMs: number, emit: EmitFact): void {
  const index = state.stock.findIndex(({ item }) => item === next.item)
  if (index >= 0) state.stock.splice(index, 1, next)
  else state.stock.push(next)
  emit(stockFact(next, timeMs))
}

function takePaper(entry: PaperEntry, catalogue: SiteCatalogue, emit: EmitFact): Refusal | undefined {
  const { paper, of, reference, validFromMs, dueMs, people, timeMs } = entry
  const isKnown = paper === 'calibration' ? (INSTRUMENTS as readonly string[]).includes(of) : catalogue.item(of) !== undefined
  if (!isKnown) return { reason: paper === 'calibration' ? 'paper.unknown-instrument' : 'plan.unknown-work', values: paper === 'calibration' ? { instrument: of, expected: INSTRUMENTS.join(', ') } : { work: of } }
  if (dueMs !== undefined && dueMs <= validFromMs) return { reason: 'paper.due-before-valid', values: { of } }
  emit({ type: 'paper', id: `paper-${paper}-${of}`, timeMs, paper, of, reference, validFromMs, ...(dueMs === undefined ? {} : { dueMs }), ...(people === undefined ? {} : { people }) })
  return undefined
}

function keep<T extends MaintenanceFact>(list: T[], fact: T, max: number, emit: EmitFact): void {
  const index = list.findIndex(({ id }) => id === fact.id)
  if (index >= 0) list.splice(index, 1)
  list.push(fact)
  if (list.length > max) list.shift()
  emit(fact)
}
