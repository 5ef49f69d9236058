import type { RankedCause } from '../line/causes.js'
import type { Diagnosis, EvidenceItem } from '../line/diagnosis.js'
import { holdUnseen } from '../line/diagnosis/unseen-causes.js'
import { isPotEffortLarge } from '../line/diagnosis/votes.js'
import { START_UP_ALONE_SIGMA } from '../line/features/feature-spec.js'
import type { LineDefinition } from '../line/line-definition.js'
import type { Suggestion } from './suggestion.js'

const HOUR_MS = 3_600_000

/** What a diagnosis rests on, in numbers the policy needs. */
export interface SymptomStrength {
  readonly feature: string
  readonly mechanism: string
  readonly shiftSigma: number
  readonly shift: number
  readonly centre: number
  readonly windows: number
  readonly trend: string
  /** It went on growing after it was first seen. */
  readonly creeps: boolean
  /** The leading cause moves it so less than the others do. */
  readonly isAgainst: boolean
  /** Of defects: standard errors by which all kinds together are above their levels; 0 of channels. */
  readonly allKindsErrors: number
}

/** A suspicion on its way to a suggestion: plain data. */
export interface Watch {
  firstMs: number
  lastMs: number
  /** Production time over which it stood, ms. */
  stoodMs: number
  /** Production time since it was last seen, ms. */
  awayMs?: number
  /** Windows each feature had when it was first seen. */
  windowsAtFirst: Record<string, number>
}

/** Four sigmas are very strong, two and a half strong. [ASM] */
const VERY_STRONG = 4
const STRONG = 2.5
/** One feature must stand in three windows, two independent ones in two. [CP: escalation step 4] */
const WINDOWS_ONE_FEATURE = 3
const WINDOWS_TWO_FEATURES = 2
/** The rule's windows are 30-60 min [CP]; many of ours are 10 min, so time must pass as well: somewhat less, since ours rest on limits with a budget. [ASM] */
const STOOD_MS_ONE_FEATURE = 1.2 * HOUR_MS
const STOOD_MS_TWO_FEATURES = 0.5 * HOUR_MS
/** Standard errors by which all kinds of defects together must stand above their levels: less than that comes of lots and of chance now and then. [ASM, from tuning seeds of the simulator: SIM] */
const DEFECTS_ERRORS = 5
/** Counts of defects stand longer than a channel, kinds that could be this or that longer still. [ASM] */
const STOOD_MS_DEFECTS = 2.25 * HOUR_MS
const STOOD_MS_UNCLEAR_DEFECTS = 12 * HOUR_MS
/** So far above their levels they need no second shift to be believed. [ASM] */
const STOOD_MS_MANY_DEFECTS = 4.5 * HOUR_MS
const MANY_DEFECTS_ERRORS = 6
/** One kind at least that has not begun to fade must stand so many sigmas above its level. [ASM] */
const DEFECTS_SIGMA_MIN = 1.2
/** Where the lead has less, the first check is hardly better than any other. [ASM] */
const DEFECTS_LEAD_MIN = 0.35
/** Groups of boards, some two days of them. [ASM] */
const DEFECT_WINDOWS_MAX = 48
/** Heavier or fewer boards, a door, the exhaust change heat and swing of a zone for some hours: alone, it must outlast them or go on growing. [ASM] */
const STOOD_MS_PASSING = 6 * HOUR_MS
/** A zone that swings more and does nothing else may have other batches for most of a day: a shift and a half of production. [ASM] */
const STOOD_MS_SWING = 12 * HOUR_MS
/** Boards that get colder and colder while every zone needs what it did: room and exhaust are taken out, heavier boards come at once and go. [ASM, from tuning seeds of the simulator: SIM] */
const STOOD_MS_COLD = 1.2 * HOUR_MS
/** Most of a shift of the exhaust drifting one way. [ASM] */
const STOOD_MS_EXHAUST = 4.5 * HOUR_MS
/** What cannot be named must stand longer. [ASM] */
const STOOD_MS_CANNOT_TELL = 4.5 * HOUR_MS
/** Signals for each suggestion in the default budgets, 1 a week and 0.05 a week: what the windows above are meant for. */
const BUDGET_RATIO = 20
/** Usual alarm below the level a pot is kept at, mm (alarm at -8 to -12 mm) [CP]. */
const USUAL_ALARM_MM = 10
/** A fault with less weight than this against the benign and the unlisted is not suggested. [ASM] */
const FAULT_WEIGHT_MIN = 0.6

/** The moved features of a diagnosis, the strongest first. */
export function symptomsOf(diagnosis: Diagnosis): SymptomStrength[] {
  return strengthsOf(diagnosis.evidence.filter(({ feature }) => diagnosis.features.includes(feature)))
}

/** Boards that leave the preheat as warm or cold as the leading cause of a zone would have them: the other half of a heat balance. */
function corroborating({ evidence, features }: Diagnosis): SymptomStrength[] {
  return strengthsOf(evidence.filter(({ feature, stance }) => feature === 'board.topside-temperature.mean' && stance === 'for' && !features.includes(feature))).filter(({ trend }) => trend !== 'fading')
}

function strengthsOf(evidence: readonly EvidenceItem[]): SymptomStrength[] {
  return evidence
    .filter(({ key }) => key === 'evidence.up' || key === 'evidence.down')
    .map((item) => ({
      feature: item.feature,
      mechanism: String(item.values['mechanism'] ?? item.feature),
      shiftSigma: numberOf(item, 'shiftSigma'),
      shift: numberOf(item, 'shift'),
      centre: numberOf(item, 'centre'),
      windows: numberOf(item, 'windows'),
      trend: String(item.values['trend'] ?? 'steady'),
      creeps: item.values['creeps'] === 'yes',
      isAgainst: item.stance === 'against',
      allKindsErrors: numberOf(item, 'allKindsErrors'),
    }))
    .sort((a, b) => Math.abs(b.shiftSigma) - Math.abs(a.shiftSigma) || (a.feature < b.feature ? -1 : 1))
}

function numberOf(item: EvidenceItem, name: string): number {
  const value = item.values[name]
  return typeof value === 'number' ? value : 0
}

/** What a diagnosis could be suggested as: the fault in the lead, a look at the section, or nothing. */
export function verdictOf(diagnosis: Diagnosis): { readonly kind: 'fault' | 'cannot-tell'; readonly cause: string; readonly zone?: number } | { readonly kind: 'nothing' } {
  const lead = diagnosis.causes[0]
  if (lead === undefined || lead.kind === 'benign' || diagnosis.abstainReason === 'data-quality') return { kind: 'nothing' }
  const zone = lead.zone === undefined ? {} : { zone: lead.zone }
  if (lead.kind === 'none-of-these') {
    const faults = weightOf(diagnosis.causes, 'fault')
    // A change in a channel of the site's own says nothing of any section.
    return lead.section === 'line' && faults < 0.1 ? { kind: 'nothing' } : { kind: 'cannot-tell', cause: lead.cause, ...zone }
  }
  return weightOf(diagnosis.causes, 'fault') < FAULT_WEIGHT_MIN ? { kind: 'nothing' } : { kind: 'fault', cause: lead.cause, ...zone }
}

function weightOf(causes: readonly RankedCause[], kind: RankedCause['kind']): number {
  return causes.reduce((sum, cause) => (cause.kind === kind ? sum + cause.probability : sum), 0)
}

/**
 * Whether a suspicion has stood long enough to interrupt a person: two independent features, or one over three windows;
 * a very strong one needs a window less, a weak or unclear one a window more. Fading evidence never confirms.
 */
export function isConfirmed(diagnosis: Diagnosis, kind: 'fault' | 'cannot-tell', watch: Watch, definition: LineDefinition): boolean {
  const standing = withoutSmallEfforts(withoutContrary(symptomsOf(diagnosis).filter((symptom) => symptom.trend !== 'fading'), kind))
  const strongest = Math.abs(standing[0]?.shiftSigma ?? 0)
  if (standing.length === 0) return false
  if (mayBeSet(standing, definition)) return false
  if (standing.every(({ feature }) => feature.startsWith('board.')) && !onlyBoardsAreCold(standing)) return (diagnosis.causes[0]?.probability ?? 0) >= DEFECTS_LEAD_MIN && defectsConfirmed(standing, kind, watch, diagnosis.abstains)
  if (kind === 'cannot-tell') return !onlyBoardsAreCold(standing) && !onlyPotEffort(standing) && (!mayPass(standing) || outlasts(standing, watch, definition)) && strongest >= VERY_STRONG && watch.stoodMs >= STOOD_MS_CANNOT_TELL && enoughWindows(standing, watch, WINDOWS_ONE_FEATURE + 1)
  const beside = corroborating(diagnosis)
  if (!driftsOn(diagnosis, watch)) return false
  if (mayPass(standing) && beside.length === 0 && !outlasts(standing, watch, definition)) return false
  if (standsOutAtStartUp(diagnosis, standing) && watch.stoodMs >= 0.5 * STOOD_MS_TWO_FEATURES * (1 + Math.max(0, budgetWindows(definition)))) return true
  const extra = budgetWindows(definition) + (strongest >= VERY_STRONG ? -1 : strongest < STRONG || diagnosis.abstains ? 1 : 0)
  const mechanisms = new Set([...standing, ...beside].map(sourceOf))
  const twoFeatures = mechanisms.size >= 2
  const stoodMs = (twoFeatures ? STOOD_MS_TWO_FEATURES : STOOD_MS_ONE_FEATURE) * (strongest >= VERY_STRONG ? 0.5 : 1) * (1 + 0.5 * Math.max(0, budgetWindows(definition)))
  return watch.stoodMs >= stoodMs && enoughWindows(standing, watch, (twoFeatures ? WINDOWS_TWO_FEATURES : WINDOWS_ONE_FEATURE) + extra)
}

const PASSING = /\.(?:duty\.(?:effort|effort-own|spread)|temperature\.(?:slow|slow-own)|topside-temperature\.(?:mean|spread))$/

/** Share of its effort below which a zone's effort is no second sign beside one that passes as well. [ASM, SIM] */
const EFFORT_SMALL = 0.04

/** Where all that speaks for the lead may pass, what speaks against it makes it no surer. */
function withoutContrary(standing: readonly SymptomStrength[], kind: 'fault' | 'cannot-tell'): readonly SymptomStrength[] {
  const inFavour = standing.filter(({ isAgainst }) => !isAgainst)
  return kind === 'fault' && inFavour.length > 0 && inFavour.every(({ feature }) => PASSING.test(feature)) ? inFavour : standing
}

/** Without efforts so small that unequal air and learning make them, where boards say nothing of the zone. */
function withoutSmallEfforts(standing: readonly SymptomStrength[]): readonly SymptomStrength[] {
  const isSmall = ({ feature, shift, centre }: SymptomStrength): boolean => /\.zone-\d+\.duty\.effort(?:-own)?$/.test(feature) && Math.abs(shift) < EFFORT_SMALL * Math.abs(centre)
  const others = standing.filter((symptom) => !isSmall(symptom))
  return others.length > 0 && others.every(({ feature }) => PASSING.test(feature) && !feature.startsWith('board.')) ? others : standing
}

/** Nothing but one mechanism that boards, doors and exhaust move as well. */
function mayPass(standing: readonly SymptomStrength[]): boolean {
  return standing.every((symptom) => PASSING.test(symptom.feature) && sourceOf(symptom) === sourceOf(standing[0]!))
}

/** It goes on growing, or has stood longer than what passes does. Boards that are colder by a step never do; what else they get takes a shift and a half. */
function outlasts(standing: readonly SymptomStrength[], { stoodMs }: Watch, definition: LineDefinition): boolean {
  const creeps = standing.some((symptom) => symptom.creeps)
  if (!standing.some((symptom) => Math.abs(symptom.shiftSigma) >= STRONG) || !standing.some((symptom) => isRelevant(symptom, definition))) return false
  if (onlyBoardsAreCold(standing)) return creeps || standing.some(growsFar) ? stoodMs >= STOOD_MS_COLD : stoodMs >= STOOD_MS_PASSING && standing.some(({ trend }) => trend === 'growing')
  return creeps || standing.some((symptom) => isTooLargeToPass(symptom, definition)) || stoodMs >= (onlySwings(standing) ? STOOD_MS_SWING : STOOD_MS_PASSING)
}

/** Half-hourly values need a shift to tell that they creep; what grows and is far off by then, two degrees and more, is no batch of heavier boards. [ASM] */
function growsFar({ trend, shiftSigma }: SymptomStrength): boolean {
  return trend === 'growing' && Math.abs(shiftSigma) >= VERY_STRONG
}

/** The effort of a zone and the effort it has beside the others are one thing seen twice. */
function sourceOf({ feature, mechanism }: SymptomStrength): string {
  return /\.duty\.effort(?:-own)?$/.test(feature) ? 'effort' : mechanism
}

/** Share of the pressure by which house and draughts move it from day to day; a full filter takes more than half of the air. [ASM, B7] */
const EXHAUST_RELEVANT = 0.25

/** A filter that is told by the exhaust must go on taking from it, and much: the house switches its exhaust, once or twice a day. [CP] */
function driftsOn({ causes, evidence }: Diagnosis, watch: Watch): boolean {
  const exhaust = strengthsOf(evidence).find(({ feature }) => feature === 'exhaust.pressure.mean')
  if (causes[0]?.cause !== 'saturated-filter' || exhaust === undefined) return true
  return exhaust.creeps && Math.abs(exhaust.shift) >= EXHAUST_RELEVANT * Math.abs(exhaust.centre) && watch.stoodMs >= STOOD_MS_EXHAUST
}

/** Boards that are colder or warmer by a step, and no zone does anything else than before: another product, room or profile, not dirt, which grows. */
function onlyBoardsAreCold(standing: readonly SymptomStrength[]): boolean {
  return standing.every(({ feature }) => feature.startsWith('board.topside-temperature.'))
}

/** What the pot's heater does beside its temperature follows boards, top-ups and the hall; where no fault explains it there is nothing to look at. [ASM] */
function onlyPotEffort(standing: readonly SymptomStrength[]): boolean {
  return standing.every(({ feature }) => feature === 'pot.duty.effort')
}

/** Windows of an hour in which the swing of going over to another set-point is gone again. [ASM] */
const SWING_OF_STEP_WINDOWS = 3
const SWING = /\.temperature\.slow(?:-own)?$/

function onlySwings(standing: readonly SymptomStrength[]): boolean {
  return standing.every(({ feature }) => SWING.test(feature))
}

/** Share of the usual effort that unequal air, heavier boards and learning leave of their own: 5 % on a simulated line; more where emitters heat the boards themselves. [ASM, SIM] */
const EFFORT_MATTERS = { convection: 0.06, radiant: 0.1 } as const

function isRelevant({ feature, shift, centre }: SymptomStrength, definition: LineDefinition): boolean {
  if (!/\.duty\.effort(?:-own)?$/.test(feature)) return true
  const zone = /^preheat\.zone-(\d+)\./.exec(feature)?.[1] ?? 0
  return Math.abs(shift) >= EFFORT_MATTERS[definition.machine.zones[Number(zone) - 1]?.kind ?? 'convection'] * Math.abs(centre)
}

/** What boards, doors and air do to one zone beside the others never comes to an eighth of its effort; nor do boards make much of the pot's. [ASM, from tuning seeds of the simulator: SIM] */
const EFFORT_TOO_LARGE = 0.12

function isTooLargeToPass(symptom: SymptomStrength, definition: LineDefinition): boolean {
  const { feature, shift, centre } = symptom
  return feature === 'pot.duty.effort' ? isPotEffortLarge(symptom, definition) : feature.endsWith('.duty.effort-own') && Math.abs(shift) >= EFFORT_TOO_LARGE * Math.abs(centre)
}

/**
 * Defects alone point to the whole line: boards, parts and flux lots make them as well. A lot is used up in hours and mostly makes one
 * kind; a fault stays, or makes more of all kinds.
 */
function defectsConfirmed(standing: readonly SymptomStrength[], kind: 'fault' | 'cannot-tell', watch: Watch, abstains: boolean): boolean {
  // Whoever counts defects sees that there are more of them; what no fault explains is not told again.
  if (kind === 'cannot-tell' || !enoughWindows(standing, watch, WINDOWS_ONE_FEATURE + 1)) return false
  if (standing.every(({ allKindsErrors }) => allKindsErrors < DEFECTS_ERRORS)) return false
  if (standing.every(({ shiftSigma }) => shiftSigma < DEFECTS_SIGMA_MIN)) return false
  // What has stood for long as it was is what these boards are like.
  if (standing.every(({ windows, trend }) => windows > DEFECT_WINDOWS_MAX && trend !== 'growing')) return false
  const isMany = standing.some(({ allKindsErrors }) => allKindsErrors >= MANY_DEFECTS_ERRORS)
  return watch.stoodMs >= (!abstains ? STOOD_MS_DEFECTS : isMany ? STOOD_MS_MANY_DEFECTS : STOOD_MS_UNCLEAR_DEFECTS)
}

/**
 * Whether all that moved are means somebody may have set to another value, on a line that does not publish what they are set
 * to: until one of them goes on growing, a person is asked nothing. The swing with which a zone goes over to the new value is no second sign.
 */
function mayBeSet(standing: readonly SymptomStrength[], definition: LineDefinition): boolean {
  const declared = new Set(definition.channels.flatMap(({ channel }) => definition.machine.zones.map((_, index) => channel.replace('{n}', String(index + 1)))))
  const published = (feature: string): boolean => declared.has(feature.replace(/(?:temperature|speed)\.offset$/, 'setpoint'))
  const means = standing.filter(({ feature, windows, creeps }) => !(SWING.test(feature) && windows < SWING_OF_STEP_WINDOWS && !creeps))
  return means.length > 0 && means.every(({ feature, creeps }) => /\.(temperature|speed)\.offset$/.test(feature) && !creeps && !published(feature))
}

/**
 * A start-up comes once a day: one that took so much longer than all before it, in one zone while the others were as
 * ever, or in which the chain jumped as it never did, is not left to the next morning.
 */
function standsOutAtStartUp(diagnosis: Diagnosis, standing: readonly SymptomStrength[]): boolean {
  if (diagnosis.abstains) return false
  const out = standing.filter(({ shiftSigma, isAgainst }) => !isAgainst && shiftSigma >= START_UP_ALONE_SIGMA)
  if (out.some(({ feature }) => feature === 'conveyor.speed.cold-jumps')) return true
  return out.some(({ feature }) => feature.endsWith('.warm-up-time')) && diagnosis.evidence.some(({ key }) => key === 'evidence.neighbours-quiet')
}

/** At least one of the windows must have come after the suspicion arose: the signal itself is no confirmation. */
function enoughWindows(standing: readonly SymptomStrength[], watch: Watch, needed: number): boolean {
  return standing.some(({ feature, windows }) => windows >= Math.max(2, needed) && windows > (watch.windowsAtFirst[feature] ?? 0))
}

/** A tighter budget for suggestions than a twentieth of that for signals costs windows, a loose one saves one. */
function budgetWindows({ budget }: LineDefinition): number {
  const ratio = budget.falseSignalsPerWeek / budget.falseSuggestionsPerWeek
  if (ratio > BUDGET_RATIO) return Math.min(6, Math.ceil(Math.log(ratio / BUDGET_RATIO) / Math.log(5)))
  return ratio <= BUDGET_RATIO / 5 ? -1 : 0
}

/** Low level with the pump running draws dross and air; what grows fast or stands clearly is soon; the rest is planned. */
export function urgencyOf(diagnosis: Diagnosis, definition: LineDefinition): Suggestion['urgency'] {
  const lead = diagnosis.causes[0]!
  if (lead.kind !== 'fault') return 'plan'
  const symptoms = symptomsOf(diagnosis)
  const level = symptoms.find((symptom) => symptom.feature === 'pot.level.offset')
  const mayBeLow = lead.cause === 'low-level' || (lead.members ?? []).includes('low-level')
  if (mayBeLow && level !== undefined && level.centre + level.shift <= (definition.machine.pot.levelAlarmMm ?? level.centre - USUAL_ALARM_MM)) return 'urgent'
  const strongest = symptoms[0]
  if (diagnosis.abstains || strongest === undefined) return 'plan'
  return mayBeLow || Math.abs(strongest.shiftSigma) >= VERY_STRONG || strongest.trend === 'growing' ? 'soon' : 'plan'
}

/**
 * What is left of the benign and the unlisted once a suspicion is confirmed: it stood through windows of its own, outside
 * run-ins, changeovers and stops, and passing causes pass. From tuning seeds of the simulator [SIM].
 */
const CONFIRMED = { fault: 1, benign: 0.12, 'none-of-these': 0.2 } as const
/** What a diagnosis says counts each mechanism once, at one moment; one that stood through more windows has been told more than once, and part of that is news. From tuning seeds of the simulator [SIM]. */
const TOLD_AGAIN = 1.4

/** The causes of a confirmed suspicion with a fault in the lead, renormalised; others stay as they are. What no channel can show is not claimed. */
export function confirmedCauses({ causes, invisible }: Pick<Diagnosis, 'causes' | 'invisible'>): readonly RankedCause[] {
  if (causes[0]?.kind !== 'fault') return causes
  const weightIn = ({ probability, kind }: RankedCause): number => probability ** TOLD_AGAIN * CONFIRMED[kind]
  const total = causes.reduce((sum, cause) => sum + weightIn(cause), 0)
  const weighed = causes.map((cause) => ({ ...cause, probability: weightIn(cause) / total })).sort((a, b) => b.probability - a.probability || (a.cause < b.cause ? -1 : 1))
  return holdUnseen(weighed, invisible)
}
