import { handFeature, handLimits, handValuesOf, type HandValue } from '../../line/hand-values.js'
import type { LineDefinition } from '../../line/line-definition.js'
import type { MaintenanceEntry } from '../maintenance-entry.js'
import type { MaintenanceFact } from '../maintenance-fact.js'
import type { MaintenanceAsks, MaintenanceContext, MaintenancePart } from '../maintenance-part.js'
import { eventOfChange, roundCheck, type RoundCheck, type RoundEvent } from './round-catalogue.js'
import type { RoundEntry, RoundItem } from './round-entry.js'
import type { MeasuredValue, RoundException, RoundsFact } from './round-fact.js'
import { askedChecks } from './round-schedule.js'

/** A finding from here on is an exception: 3 heavy, 4 blocked. */
export const FINDING_EXCEPTION = 3
/** Values that make a line's own level, as for its chart. */
const LEVEL_VALUES = 3
/** Newest contact times looked through for both too long and too short ones. */
const CONTACTS_KEPT = 12
/**
 * Contact this share off its own level both ways is uneven, as is one that leaves the line's window both ways: one jump of 5 mm takes 8 % off a
 * contact of 60 mm [SIM], and a gauge repeats within 2 to 3 % [ASM].
 */
const CONTACT_SHARE = 0.07
const CONTACT_SPAN_MS = 14 * 24 * 3_600_000

/** Plain JSON. */
interface RoundsState {
  sinceMs: number
  last: Record<string, { timeMs: number; inOrder: boolean }>
  events: Partial<Record<RoundEvent, number>>
  /** First values by feature and recipe, at most three. */
  first: Record<string, number[]>
  /** Each with the recipe that was run; of an earlier version without, which fits none. */
  contacts: { timeMs: number; seconds: number; recipe?: string }[]
}

/** Rounds of a line: takes what people found and measured, charts the values, tells exceptions and what is known of the rounds. */
export function createRoundsPart(definition: LineDefinition, snapshot: unknown): MaintenancePart {
  return new RoundsPart(definition, (snapshot as RoundsState | undefined) ?? { sinceMs: 0, last: {}, events: {}, first: {}, contacts: [] })
}

interface Judged {
  readonly measured: readonly MeasuredValue[]
  readonly exceptions: readonly RoundException[]
}

type Refusal = { readonly reason: string; readonly values: Readonly<Record<string, number | string>> }

class RoundsPart implements MaintenancePart {
  private readonly known: RoundsState

  constructor(
    private readonly definition: LineDefinition,
    state: RoundsState,
  ) {
    this.known = structuredClone(state)
  }

  snapshot(): unknown {
    return structuredClone(this.known)
  }

  tick(_evidence: unknown, context: MaintenanceContext, asks: MaintenanceAsks): void {
    if (this.known.sinceMs !== 0) return
    this.known.sinceMs = context.nowMs
    this.tell(context, asks)
  }

  entry(entry: MaintenanceEntry, context: MaintenanceContext, asks: MaintenanceAsks): void {
    if (entry.type !== 'round') return
    const timeMs = Math.min(entry.timeMs, context.nowMs)
    const refusal = this.refusalOf(entry, timeMs)
    if (refusal !== undefined) {
      asks.emit({ type: 'refused', id: `refused-${entry.id}`, timeMs: context.nowMs, entry: entry.id, ...refusal })
      return
    }
    if (this.known.sinceMs === 0) this.known.sinceMs = timeMs
    const judged = entry.items.map((item) => this.take(item, timeMs, context, asks))
    const exceptions = [...judged.flatMap((one) => one.exceptions), ...this.contactException(timeMs, context.recipe)]
    asks.emit({
      type: 'round', id: `round-${entry.id}`, timeMs, round: entry.round, items: entry.items, measured: judged.flatMap(({ measured }) => measured), exceptions,
      ...(entry.by === undefined ? {} : { by: entry.by }),
    })
    this.tell(context, asks)
  }

  fact(fact: MaintenanceFact, context: MaintenanceContext, asks: MaintenanceAsks): void {
    const event = fact.type === 'change' ? eventOfChange(fact.change) : fact.type === 'start-up' ? 'start-up' : undefined
    if (event === undefined) return
    const timeMs = fact.type === 'start-up' ? fact.sinceMs : fact.timeMs
    if (timeMs <= (this.known.events[event] ?? 0)) return
    this.known.events[event] = timeMs
    this.tell(context, asks)
  }

  private refusalOf(entry: RoundEntry, timeMs: number): Refusal | undefined {
    const asked = askedChecks(this.definition, timeMs)
    for (const item of entry.items) {
      const check = roundCheck(this.definition, item.check)
      if (check === undefined) return { reason: 'round.unknown-check', values: { check: item.check } }
      const zones = this.definition.machine.zones.length
      if (item.zone !== undefined && (!check.perZone || item.zone > zones)) return { reason: 'round.unknown-zone', values: { check: item.check, zone: item.zone, zones: check.perZone ? zones : 0 } }
      const wrong = this.wrongValue(item)
      if (wrong !== undefined) return wrong
      if (item.ok && asked.has(item.check) && !isTold(item, check)) return { reason: check.valuesNeeded ? 'round.value-needed' : 'round.look-and-tell', values: { check: item.check } }
    }
    return undefined
  }

  private wrongValue(item: RoundItem): Refusal | undefined {
    const known = handValuesOf(this.definition, item.check)
    for (const [name, value] of Object.entries(item.values ?? {})) {
      const hand = known.find((candidate) => candidate.value === name && candidate.derive === undefined)
      if (hand === undefined) return { reason: 'round.unknown-value', values: { check: item.check, value: name } }
      if (!(value >= hand.possibleMin && value <= hand.possibleMax)) return { reason: 'round.not-plausible', values: { check: item.check, value: name, found: value, from: hand.possibleMin, to: hand.possibleMax, unit: hand.unit } }
    }
    return undefined
  }

  private take(item: RoundItem, timeMs: number, context: MaintenanceContext, asks: MaintenanceAsks): Judged {
    const measured: MeasuredValue[] = []
    const exceptions: RoundException[] = []
    const place = item.zone === undefined ? {} : { zone: item.zone }
    if (!item.ok) exceptions.push({ check: item.check, ...place, reason: 'round.not-in-order', values: item.finding === undefined ? {} : { finding: item.finding } })
    else if ((item.finding ?? 0) >= FINDING_EXCEPTION) exceptions.push({ check: item.check, ...place, reason: 'round.finding', values: { finding: item.finding! } })
    for (const hand of handValuesOf(this.definition, item.check)) {
      const value = item.values?.[hand.value] ?? hand.derive?.(item.values ?? {})
      if (value === undefined || !Number.isFinite(value)) continue
      const { lower, upper } = this.limitsOf(hand, item.zone, context.recipe)
      const limits = { ...(lower === undefined ? {} : { lower }), ...(upper === undefined ? {} : { upper }) }
      measured.push({ check: item.check, value: hand.value, ...place, measured: value, unit: hand.unit, ...limits })
      const side = lower !== undefined && value < lower ? 'below' : upper !== undefined && value > upper ? 'above' : undefined
      if (side !== undefined) exceptions.push({ check: item.check, ...place, reason: `round.${side}`, values: { value: hand.value, measured: value, limit: side === 'below' ? lower! : upper!, unit: hand.unit } })
      this.learn(hand, item.zone, context.recipe, value)
      if (hand.charted) asks.chart({ feature: handFeature(item.check, hand.value, hand.perZone ? (item.zone ?? 1) : undefined), timeMs, value, weight: 1 })
      if (item.check === 'contact-time' && (hand.value === 'left' || hand.value === 'right')) this.known.contacts.push({ timeMs, seconds: value, recipe: context.recipe })
    }
    const before = this.known.last[item.check]
    if (before === undefined || timeMs >= before.timeMs) this.known.last[item.check] = { timeMs, inOrder: exceptions.length === 0 && (before === undefined || before.timeMs < timeMs || before.inOrder) }
    return { measured, exceptions }
  }

  /** A chain that sticks and slips gives contact both too long and too short while its mean speed is right. */
  private contactException(timeMs: number, recipe: string): RoundException[] {
    const { contacts } = this.known
    if (contacts.at(-1)?.timeMs !== timeMs) return []
    this.known.contacts = contacts.filter((contact) => contact.timeMs > timeMs - CONTACT_SPAN_MS).slice(-CONTACTS_KEPT)
    // Recipes have contact times of their own.
    const seconds = this.known.contacts.filter((contact) => contact.recipe === recipe).map((contact) => contact.seconds)
    if (seconds.length < 4) return []
    const middle = median(seconds)
    const shortest = Math.min(...seconds)
    const longest = Math.max(...seconds)
    const { lower = 0, upper = Number.POSITIVE_INFINITY } = this.contactLimits(recipe)
    const isTooShort = shortest < middle * (1 - CONTACT_SHARE) || shortest < lower
    const isTooLong = longest > middle * (1 + CONTACT_SHARE) || longest > upper
    if (!isTooShort || !isTooLong) return []
    return [{ check: 'contact-time', reason: 'round.contact-both-ways', values: { shortest, longest, usual: middle, unit: 's' } }]
  }

  private contactLimits(recipe: string): { readonly lower?: number; readonly upper?: number } {
    const hand = handValuesOf(this.definition, 'contact-time').find(({ value }) => value === 'left')
    return hand === undefined ? {} : handLimits(this.definition, hand, undefined, recipe)
  }

  private limitsOf(hand: HandValue, zone: number | undefined, recipe: string): { readonly lower?: number; readonly upper?: number } {
    const first = this.known.first[levelKey(hand, zone, recipe)] ?? []
    return handLimits(this.definition, hand, first.length >= LEVEL_VALUES ? median(first) : undefined, recipe)
  }

  private learn(hand: HandValue, zone: number | undefined, recipe: string, value: number): void {
    const first = (this.known.first[levelKey(hand, zone, recipe)] ??= [])
    if (first.length < LEVEL_VALUES) first.push(value)
  }

  private tell(context: MaintenanceContext, asks: MaintenanceAsks): void {
    const fact: RoundsFact = {
      type: 'rounds', id: 'rounds', timeMs: context.nowMs, sinceMs: this.known.sinceMs,
      last: Object.entries(this.known.last).map(([check, { timeMs, inOrder }]) => ({ check, timeMs, inOrder })),
      events: Object.entries(this.known.events).map(([event, timeMs]) => ({ event: event as RoundEvent, timeMs })),
      levels: Object.entries(this.known.first).filter(([, values]) => values.length >= LEVEL_VALUES).map(([key, values]) => ({ feature: key.split('|')[0]!, recipe: key.split('|')[1] ?? '', level: median(values) })),
    }
    asks.emit(fact)
  }
}

/** Told: a value, what was seen, or a remark stands beside the tick. */
function isTold(item: RoundItem, check: RoundCheck): boolean {
  const hasValue = Object.keys(item.values ?? {}).length > 0
  return check.valuesNeeded ? hasValue : hasValue || item.finding !== undefined || item.remark !== undefined
}

function levelKey(hand: HandValue, zone: number | undefined, recipe: string): string {
  return `${handFeature(hand.check, hand.value, hand.perZone ? (zone ?? 1) : undefined)}|${hand.perRecipe ? recipe : ''}`
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b)
  const middle = Math.floor(sorted.length / 2)
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2
}
