import type { CleaningHistory } from '../../line/diagnosis/cause-priors.js'
import { FAULT_FACTS } from '../../line/diagnosis/cause-priors.js'
import type { LineDefinition } from '../../line/line-definition.js'
import type { Reading } from '../../line/reading.js'
import type { LineStateChange } from '../../line/state/line-state-change.js'
import type { LineStateName } from '../../line/feature-value.js'
import type { MaintenanceFact } from '../maintenance-fact.js'
import type { MaintenanceAsks, MaintenanceContext, MaintenancePart } from '../maintenance-part.js'
import type { RoundItem } from '../rounds/round-entry.js'
import type { Suggestion, WorkRecord } from '../suggestion.js'
import { cycleLife, isEvent } from './finding-growth.js'
import { intervalCosts } from './interval-costs.js'
import type { IntervalFact, IntervalScale } from './interval-fact.js'
import { bestScale, onScale, perRunningHour, startOn, usedOn, type UseCycle, type UseLook } from './interval-scale.js'
import { judgeHistory, type IntervalAnswer } from './interval-verdict.js'
import { intervalPlaces, placeKey, type IntervalPlace } from './start-intervals.js'
import { advanceClock, createUseClock, noteUse, useAt, useNow, useSince, type Use, type UseClock } from './use-clock.js'

const CYCLES_KEPT = 60
const LOOKS_KEPT = 24
const SIGNS_KEPT = 60
/** Lives told with a fact. */
const LIVES_TOLD = 30
/** The line runs in these states; in the rest nothing is sprayed and nothing gathers. */
const RUNNING: readonly LineStateName[] = ['production', 'run-in', 'changeover']
/** A second record of a job so soon after the first is another pass of it. [ASM] */
const SAME_PASS_HOURS = 1

/** Use when a line's first data came. */
const NEVER: Use = { hours: 0, boards: 0, fluxG: 0, calendarHours: 0 }

interface KeptCycle extends UseCycle {
  readonly record: string
  /** Use when it began, for a record that is taken back. */
  readonly from: Use
  looks: UseLook[]
}

interface PlaceState {
  /** Use at the last cleaning; absent before the first record, when nobody knows how old the dirt is. */
  from?: Use
  looks: UseLook[]
  cycles: KeptCycle[]
  scale?: IntervalScale
  /** In force, in the unit of the scale. */
  present?: number
  /** Said last: the verdict and the share used. */
  said?: string
  saidUsed?: number
}

interface Sign {
  readonly suggestion: string
  readonly section: string
  readonly zone?: number
  readonly causes: readonly string[]
  readonly at: Use
}

interface IntervalState {
  version: 1
  clock: UseClock
  places: Record<string, PlaceState>
  signs: Sign[]
}

/** Learns how often each job is needed; see `judgeHistory` for the rules. Registered as `intervals`. */
export function createIntervalPart(definition: LineDefinition, snapshot: unknown): MaintenancePart {
  const known = snapshot as IntervalState | undefined
  const state: IntervalState = known?.version === 1 ? (JSON.parse(JSON.stringify(known)) as IntervalState) : { version: 1, clock: createUseClock(), places: {}, signs: [] }
  return new IntervalPart(definition, state)
}

class IntervalPart implements MaintenancePart {
  private readonly places: readonly IntervalPlace[]

  constructor(
    private readonly definition: LineDefinition,
    private readonly kept: IntervalState,
  ) {
    this.places = intervalPlaces(definition)
  }

  snapshot(): unknown {
    return JSON.parse(JSON.stringify(this.kept)) as IntervalState
  }

  reading(reading: Reading): void {
    noteUse(this.kept.clock, reading)
  }

  state({ timeMs, state }: LineStateChange): void {
    advanceClock(this.kept.clock, timeMs, RUNNING.includes(state))
  }

  tick(_evidence: unknown, { nowMs, state }: MaintenanceContext, asks: MaintenanceAsks): void {
    advanceClock(this.kept.clock, nowMs, RUNNING.includes(state))
    for (const place of this.places) this.tell(place, nowMs, asks, 'grown')
  }

  suggestion({ id, section, zone, causes, status }: Suggestion): void {
    const lead = causes[0]
    if (status !== 'open' || lead === undefined || lead.kind !== 'fault' || this.kept.signs.some((sign) => sign.suggestion === id)) return
    this.kept.signs.push({ suggestion: id, section, ...(zone === undefined ? {} : { zone }), causes: lead.members ?? [lead.cause], at: this.now() })
    if (this.kept.signs.length > SIGNS_KEPT) this.kept.signs.shift()
  }

  record(record: WorkRecord, { nowMs }: MaintenanceContext, asks: MaintenanceAsks): void {
    this.takeRecord(record, nowMs, asks)
  }

  fact(fact: MaintenanceFact, { nowMs }: MaintenanceContext, asks: MaintenanceAsks): void {
    if (fact.type === 'record') {
      if (fact.withdrawn) this.withdraw(fact.record, nowMs, asks)
      else this.takeRecord(fact.record, nowMs, asks)
    }
    if (fact.type === 'round') for (const item of fact.items) this.takeFinding(item, fact.timeMs, nowMs, asks)
    // The channels say that nothing was wrong with the part: no sign of it then.
    if (fact.type === 'proof' && (fact.verdict === 'did-not-help' || fact.verdict === 'was-clean')) this.takeSignBack(fact.record, nowMs, asks)
  }

  priors(): Readonly<Record<string, CleaningHistory>> {
    const now = this.now()
    const priors: Record<string, CleaningHistory> = {}
    for (const place of this.places) {
      const state = this.kept.places[placeKey(place.start.work, place.zone)]
      if (state?.from === undefined || place.start.grows !== 'deposit') continue
      const perHour = perRunningHour(now, state.scale ?? 'running-hours')
      const history = { since: useSince(now, state.from).hours, interval: Math.max(1, (state.present ?? startOn(place.start, state.scale ?? 'running-hours', now)) / perHour) }
      for (const cause of place.item.mends) {
        const facts = FAULT_FACTS[cause as keyof typeof FAULT_FACTS] as (typeof FAULT_FACTS)[keyof typeof FAULT_FACTS] | undefined
        if (facts !== undefined) priors[facts.perZone && place.zone !== undefined ? `${cause}/${place.zone}` : cause] = history
      }
    }
    return priors
  }

  private now(): Use {
    return useNow(this.kept.clock)
  }

  private stateOf(place: IntervalPlace): PlaceState {
    return (this.kept.places[placeKey(place.start.work, place.zone)] ??= { looks: [], cycles: [] })
  }

  /** A record of a preheat job that names no zone is of all of them. */
  private placesOf({ work, zone }: WorkRecord): readonly IntervalPlace[] {
    return this.places.filter((place) => place.start.work === work && (zone === undefined || place.zone === zone))
  }

  private takeRecord(record: WorkRecord, nowMs: number, asks: MaintenanceAsks): void {
    for (const place of this.placesOf(record)) this.takeAt(place, record, nowMs, asks)
  }

  private takeAt(place: IntervalPlace, record: WorkRecord, nowMs: number, asks: MaintenanceAsks): void {
    const state = this.stateOf(place)
    const known = state.cycles.find((cycle) => cycle.record === record.id)
    if (known !== undefined) {
      // A correction changes what was found; the time of the work stays as it was first told.
      const last = known.looks.at(-1)
      if (last?.finding === record.finding) return
      const { finding: _finding, ...bare } = last ?? { at: known.at }
      known.looks = [...known.looks.slice(0, -1), { ...bare, ...(record.finding === undefined ? {} : { finding: record.finding }) }]
      this.learn(place, nowMs, asks)
      return
    }
    const at = useAt(this.kept.clock, record.timeMs)
    const sign = this.signFor(place, record)
    if (state.from !== undefined) {
      const from = state.from
      const age = useSince(at, from)
      if (age.hours < SAME_PASS_HOURS) return
      const looks = [...state.looks, ...(sign === undefined ? [] : [{ at: useSince(sign.at, from), sign: true }])].filter((look) => look.at.hours <= age.hours)
      const last: UseLook = { at: age, ...(record.finding === undefined ? {} : { finding: record.finding }) }
      state.cycles = [...state.cycles, { record: record.id, from, at: rounded(age), looks: [...looks, last].map((look) => ({ ...look, at: rounded(look.at) })).slice(-LOOKS_KEPT) }].slice(-CYCLES_KEPT)
    }
    state.from = rounded(at)
    state.looks = []
    this.learn(place, nowMs, asks)
  }

  /** A suggestion of this place that the record answers, whose leading cause the job mends; none where people found nothing. */
  private signFor({ section, zone, start, item }: IntervalPlace, { suggestion, finding }: WorkRecord): Sign | undefined {
    if (finding !== undefined && finding < 2) return undefined
    const mends: readonly string[] = item.mends
    const from = this.kept.places[placeKey(start.work, zone)]?.from
    return this.kept.signs.findLast((sign) => sign.section === section && sign.zone === zone && sign.causes.some((cause) => mends.includes(cause)) && (suggestion === undefined || sign.suggestion === suggestion) && (from === undefined || sign.at.hours > from.hours))
  }

  private withdraw(record: WorkRecord, nowMs: number, asks: MaintenanceAsks): void {
    for (const place of this.placesOf(record)) this.withdrawAt(place, record, nowMs, asks)
  }

  private withdrawAt(place: IntervalPlace, record: WorkRecord, nowMs: number, asks: MaintenanceAsks): void {
    const state = this.stateOf(place)
    const cycle = state.cycles.find((one) => one.record === record.id)
    if (cycle === undefined) return
    // Only the newest can be undone wholly; an older one leaves a gap that is not learned from.
    if (state.cycles.at(-1) === cycle) {
      state.from = cycle.from
      state.looks = cycle.looks.slice(0, -1)
    }
    state.cycles = state.cycles.filter((one) => one !== cycle)
    this.learn(place, nowMs, asks)
  }

  private takeFinding(item: RoundItem, timeMs: number, nowMs: number, asks: MaintenanceAsks): void {
    const { finding, check, zone } = item
    if (finding === undefined) return
    for (const place of this.places) {
      if (place.item.check === undefined || place.item.check !== check || (place.zone !== undefined && place.zone !== zone)) continue
      const state = this.stateOf(place)
      if (state.from === undefined) continue
      state.looks = [...state.looks, { at: rounded(useSince(useAt(this.kept.clock, timeMs), state.from)), finding }].slice(-LOOKS_KEPT)
      this.learn(place, nowMs, asks)
    }
  }

  private takeSignBack(record: string, nowMs: number, asks: MaintenanceAsks): void {
    for (const place of this.places) {
      const cycle = this.kept.places[placeKey(place.start.work, place.zone)]?.cycles.find((one) => one.record === record && one.looks.some(({ sign }) => sign === true))
      if (cycle === undefined) continue
      cycle.looks = cycle.looks.filter(({ sign }) => sign !== true)
      this.learn(place, nowMs, asks)
    }
  }

  /** Judges the history anew; only what has changed something is a reason to. */
  private learn(place: IntervalPlace, nowMs: number, asks: MaintenanceAsks): void {
    this.tell(place, nowMs, asks, 'learned')
  }

  private tell(place: IntervalPlace, nowMs: number, asks: MaintenanceAsks, why: 'grown' | 'learned'): void {
    const state = this.stateOf(place)
    const now = this.now()
    // Before the first cleaning is recorded nothing rests on the scale, so a channel that comes later can still change it.
    const scaleSaid = state.scale
    const scale = why === 'learned' || state.scale === undefined || state.from === undefined ? this.scaleFor(place, state, now) : state.scale
    const perHour = perRunningHour(now, scale)
    const startInterval = startOn(place.start, scale, now)
    const age = usedOn(useSince(now, state.from ?? NEVER), scale)
    const present = state.present ?? startInterval
    const used = age / present
    if (why === 'grown' && state.said !== undefined && scale === scaleSaid && stepOf(used) === stepOf(state.saidUsed ?? 0)) return
    const answer = this.judge(place, state, scale, startInterval, present)
    if (why === 'learned') state.present = answer.interval
    const interval = why === 'learned' ? answer.interval : present
    const fact = factOf(this.definition, place, state, scale, perHour, startInterval, { ...answer, interval }, age, nowMs)
    const said = JSON.stringify([fact.verdict, fact.interval, fact.because, fact.scale, fact.events, fact.censored, state.from])
    if (why === 'learned' && said === state.said) return
    state.said = said
    state.saidUsed = age / interval
    asks.emit(fact)
  }

  /** The scale that fits best; an interval in force is carried over by the line's own rates. */
  private scaleFor({ start }: IntervalPlace, state: PlaceState, total: Use): IntervalScale {
    const scale = bestScale(start, state.cycles, total, state.scale)
    if (state.scale !== undefined && state.scale !== scale && state.present !== undefined) state.present *= perRunningHour(total, scale) / perRunningHour(total, state.scale)
    state.scale = scale
    return scale
  }

  private judge(place: IntervalPlace, state: PlaceState, scale: IntervalScale, startInterval: number, present: number): IntervalAnswer {
    const { item } = place
    const open = state.from === undefined ? undefined : onScale({ at: useSince(this.now(), state.from), looks: state.looks }, scale)
    return judgeHistory({ cycles: state.cycles.map((cycle) => onScale(cycle, scale)), ...(open === undefined ? {} : { open }), startInterval, present, safety: item.safety, costs: intervalCosts(item, this.definition) })
  }
}

function factOf(definition: LineDefinition, { start, item, section, zone }: IntervalPlace, state: PlaceState, scale: IntervalScale, perHour: number, startInterval: number, answer: IntervalAnswer, age: number, nowMs: number): IntervalFact {
  const { interval, verdict, range, events, censored, because } = answer
  return {
    type: 'interval',
    id: `interval-${start.work}${zone === undefined ? '' : `-${zone}`}`,
    timeMs: nowMs,
    work: start.work,
    section,
    ...(zone === undefined ? {} : { zone }),
    scale,
    interval: short(interval),
    startInterval: short(startInterval),
    verdict,
    ...(range === undefined ? {} : { range: [short(range[0]), short(range[1])] as const }),
    events,
    censored,
    safety: item.safety,
    because: because.map(({ key, values }) => ({ key, values: Object.fromEntries(Object.entries(values).map(([name, value]) => [name, typeof value === 'number' ? short(value) : value])) })),
    age: short(age),
    used: short(age / interval),
    ageKnown: state.from !== undefined,
    perHour: short(perHour),
    lives: state.cycles.slice(-LIVES_TOLD).flatMap((cycle) => {
      const { age: cycleAge, looks } = onScale(cycle, scale)
      const life = cycleLife(looks, cycleAge)
      const finding = looks.at(-1)?.finding
      return life === undefined ? [] : [{ age: short(cycleAge), ...(finding === undefined ? {} : { finding }), event: isEvent(looks), lower: short(life.lower), ...(life.upper === undefined ? {} : { upper: short(life.upper) }) }]
    }),
    costs: intervalCosts(item, definition),
  }
}

/** Shares of the interval at which its use is news; overdue is overdue, so from there on only doublings are. */
const USED_STEPS = [0.25, 0.5, 0.75, 0.9, 1] as const

function stepOf(used: number): number {
  return USED_STEPS.filter((step) => used >= step).length + (used < 1 ? 0 : Math.floor(Math.log2(used)))
}

function short(value: number): number {
  return Number(value.toPrecision(4))
}

function rounded({ hours, boards, fluxG, calendarHours }: Use): Use {
  return { hours: Number(hours.toPrecision(8)), boards: Math.round(boards), fluxG: Number(fluxG.toPrecision(8)), ...(calendarHours === undefined ? {} : { calendarHours: Number(calendarHours.toPrecision(8)) }) }
}
