import type { Language } from '../maintenance/catalogue-language.js'
import { jobWords } from '../maintenance/catalogue-texts.js'
import type { HoldCheck, HoldFact } from '../maintenance/hold/hold-fact.js'
import { HOLD_BECAUSE_TEXTS, HOLD_HOW_TEXTS, HOLD_POINT_TEXTS, HOLD_REASON_TEXTS, holdWords } from '../maintenance/hold/hold-texts.js'
import { jobRefusalText } from '../maintenance/jobs/job-texts.js'
import { planRefusalText } from '../maintenance/plan/plan-refusals.js'
import { ROUND_REASON_TEXTS } from '../maintenance/rounds/round-texts-values.js'
import { roundCheckWords, roundReasonWords } from '../maintenance/rounds/round-words.js'
import { withinRetention } from './names-of-people.js'
import { isoTime } from './output-json.js'
import type { SiteLine } from './site-view.js'

/** Settings on hold or not, with the checks that are left and their minutes; how the last hold ended, where there is none. */
export function holdView(line: SiteLine, language: Language): Record<string, unknown> {
  const hold = lastHold(line)
  if (hold === undefined) return { on: false, checks: [], changes: [], minutesLeft: 0, checksLeft: 0 }
  const left = hold.checks.filter(({ done }) => !done)
  return {
    on: hold.on,
    id: hold.id,
    time: isoTime(hold.timeMs),
    since: isoTime(hold.sinceMs),
    onset: isoTime(hold.onsetMs),
    because: hold.because,
    becauseText: holdWords(HOLD_BECAUSE_TEXTS, hold.because, language),
    sections: hold.sections,
    suggestions: hold.suggestions,
    features: hold.features,
    checksLeft: left.length,
    minutesLeft: left.reduce((sum, { minutes }) => sum + minutes, 0),
    checks: hold.checks.map((check) => checkView(line, check, language)),
    changes: hold.changes.map(({ timeMs, ...change }) => ({ ...change, time: isoTime(timeMs) })),
    ...(hold.watchedHours === undefined ? {} : { watchedHours: hold.watchedHours }),
    ...(hold.neededHours === undefined ? {} : { neededHours: hold.neededHours }),
    ...(hold.by === undefined ? {} : { by: hold.by }),
    ...(hold.reason === undefined ? {} : { reason: hold.reason }),
    ...(hold.untilMs === undefined ? {} : { until: isoTime(hold.untilMs) }),
  }
}

/** The newest hold of a line, on or ended. */
export function lastHold(line: SiteLine): HoldFact | undefined {
  const hold = line.projection.factsOf('hold').at(-1)
  return hold === undefined ? undefined : withinRetention(hold, line.definition, line.nowMs())
}

function checkView(line: SiteLine, check: HoldCheck, language: Language): Record<string, unknown> {
  const { failed, how, doneMs } = check
  return {
    check: check.check,
    title: holdWords(HOLD_POINT_TEXTS, check.check, language),
    section: check.section,
    ...(check.zone === undefined ? {} : { zone: check.zone }),
    done: check.done,
    rank: check.rank,
    minutes: check.minutes,
    ...(how === undefined ? {} : { how, howText: holdWords(HOLD_HOW_TEXTS, how, language) }),
    ...(doneMs === undefined ? {} : { doneTime: isoTime(doneMs) }),
    ...(failed === undefined ? {} : { failed: { time: isoTime(failed.timeMs), text: roundReasonWords(line.definition, failed.roundCheck, failed.reason, failed.values, language) } }),
    handChecks: check.handChecks.map((id) => ({ check: id, title: roundCheckWords(line.definition, id, language).title })),
    works: check.works.map((id) => ({ work: id, title: jobWords(id, language).title })),
  }
}

/** Why an entry was refused, in words, where the jobs, the rounds or the hold refused it. */
export function refusalWords(line: SiteLine, entry: string, language: Language): string | undefined {
  const refused = line.projection.factsOf('refused').find((fact) => fact.entry === entry)
  if (refused === undefined) return undefined
  const { reason, values } = refused
  if (Object.hasOwn(HOLD_REASON_TEXTS, reason)) return HOLD_REASON_TEXTS[reason]![language]
  if (!Object.hasOwn(ROUND_REASON_TEXTS, reason)) return jobRefusalText(reason, values, language) ?? planRefusalText(reason, values, language)
  const check = typeof values['check'] === 'string' ? values['check'] : ''
  const words = roundReasonWords(line.definition, check, reason, values, language)
  return reason === 'round.unknown-check' ? words : `${roundCheckWords(line.definition, check, language).title}: ${words}`
}
