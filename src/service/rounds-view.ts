import { handFeature, handLimits, recipesOf, type HandValue } from '../line/hand-values.js'
import type { Language } from '../maintenance/catalogue-language.js'
import { cautionText } from '../maintenance/catalogue-texts.js'
import { enteredValues, roundChecks, type RoundCheck, type RoundEvent } from '../maintenance/rounds/round-catalogue.js'
import type { RoundsFact } from '../maintenance/rounds/round-fact.js'
import { askedChecks, dueChecks, lookOrder, shiftAt, type DueCheck, type RoundsKnown } from '../maintenance/rounds/round-schedule.js'
import { handValueWords, lookWords, roundCheckWords, roundEventWords, roundPeriodWords, roundReasonWords } from '../maintenance/rounds/round-words.js'
import { isoTime } from './output-json.js'
import type { SiteLine } from './site-view.js'

/** The rounds of a line for the present shift: every check in walking order, which are due, what each asks, what was found. */
export function roundsView(line: SiteLine, language: Language): Record<string, unknown> {
  const { definition } = line
  const nowMs = line.nowMs()
  const shift = shiftAt(definition, nowMs)
  const fact = line.projection.factsOf('rounds').at(-1)
  const known = knownOf(fact, nowMs)
  const due = new Map(dueChecks(definition, known, nowMs).map((item) => [item.check.check, item]))
  const asked = askedChecks(definition, nowMs)
  const checks = roundChecks(definition).map((check) => checkView(check, { line, language, nowMs, fact, due: due.get(check.check), isAsked: asked.has(check.check) }))
  return {
    time: isoTime(nowMs),
    shift: { ...(shift.name === '' ? {} : { name: shift.name }), from: isoTime(shift.fromMs), until: isoTime(shift.untilMs) },
    minutesDue: [...due.values()].reduce((sum, { check }) => sum + check.minutes, 0),
    checks,
    exceptions: exceptionsSince(line, shift.fromMs, language),
  }
}

interface Around {
  readonly line: SiteLine
  readonly language: Language
  readonly nowMs: number
  readonly fact: RoundsFact | undefined
  readonly due: DueCheck | undefined
  readonly isAsked: boolean
}

function knownOf(fact: RoundsFact | undefined, nowMs: number): RoundsKnown {
  if (fact === undefined) return { sinceMs: nowMs, lastMs: {}, events: {} }
  return {
    sinceMs: fact.sinceMs,
    lastMs: Object.fromEntries(fact.last.map(({ check, timeMs }) => [check, timeMs])),
    events: Object.fromEntries(fact.events.map(({ event, timeMs }) => [event, timeMs])) as Partial<Record<RoundEvent, number>>,
  }
}

function checkView(check: RoundCheck, around: Around): Record<string, unknown> {
  const { line, language, nowMs, fact, due, isAsked } = around
  const { definition } = line
  const words = roundCheckWords(definition, check.check, language)
  const looks = check.looks ? lookWords(check.check, language) : undefined
  const last = fact?.last.find((item) => item.check === check.check)
  return {
    check: check.check,
    title: words.title,
    steps: words.steps,
    section: check.section,
    every: check.every,
    everyText: roundPeriodWords(check.every, language),
    minutes: check.minutes,
    status: due?.status ?? (last === undefined ? 'not-due' : 'done'),
    carriedOver: due?.carriedOver ?? false,
    ...(due === undefined ? {} : { since: isoTime(due.sinceMs) }),
    ...(due?.dueByMs === undefined ? {} : { dueBy: isoTime(due.dueByMs) }),
    ...(due?.event === undefined ? {} : { event: due.event, eventText: roundEventWords(due.event, language) }),
    ...(last === undefined ? {} : { last: { time: isoTime(last.timeMs), inOrder: last.inOrder } }),
    asks: check.valuesNeeded ? 'value' : isAsked && looks !== undefined ? 'look' : 'nothing',
    zones: check.perZone ? definition.machine.zones.length : 0,
    looks: looks === undefined ? [] : lookOrder(definition, check.check, nowMs).map((finding) => ({ finding, text: looks[finding / 2]! })),
    values: enteredValues(definition, check.check).map((value) => valueView(value, around)),
    cautions: check.cautions.map((id) => cautionText(id, language)),
  }
}

function valueView(value: HandValue, { line, language, fact }: Around): Record<string, unknown> {
  const { definition, projection } = line
  const feature = handFeature(value.check, value.value, value.perZone ? 1 : undefined)
  const level = fact?.levels.find((known) => known.feature === feature && (known.recipe === '' || known.recipe === projection.recipe))?.level
  const latest = value.charted ? projection.latestOf(feature) : undefined
  const { lower, upper, level: target } = handLimits(definition, value, level, projection.recipe)
  return {
    value: value.value,
    title: handValueWords(definition, value, language),
    unit: value.unit,
    possibleMin: value.possibleMin,
    possibleMax: value.possibleMax,
    ...(lower === undefined ? {} : { lower }),
    ...(upper === undefined ? {} : { upper }),
    ...(target === undefined ? {} : { target }),
    ...(recipesOf(definition, value).includes(projection.recipe) ? { recipe: projection.recipe } : {}),
    ...(latest === undefined ? {} : { last: { time: isoTime(latest.timeMs), value: latest.value } }),
    ...(value.charted ? { feature } : {}),
  }
}

function exceptionsSince(line: SiteLine, sinceMs: number, language: Language): Record<string, unknown>[] {
  return line.projection
    .factsOf('round')
    .filter(({ timeMs }) => timeMs >= sinceMs)
    .flatMap(({ timeMs, exceptions }) =>
      exceptions.map(({ check, zone, reason, values }) => ({
        time: isoTime(timeMs), check, title: roundCheckWords(line.definition, check, language).title, ...(zone === undefined ? {} : { zone }), reason, text: roundReasonWords(line.definition, check, reason, values, language),
      })),
    )
}
