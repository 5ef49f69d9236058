import { NONE_OF_THESE, type CauseId, type RankedCause } from '../line/causes.js'
import type { EvidenceItem } from '../line/diagnosis.js'
import { featureParts } from '../line/diagnosis/symptom-map.js'
import { cautionText, checkWords, jobWords, type JobWords } from './catalogue-texts.js'
import { catalogueLanguage, type InLanguages, type Language } from './catalogue-language.js'
import { changeText, dateText, fill, listText, numberText } from './wording-format.js'
import { CAUSE_TITLES, CHANNEL_TITLES, GROUP_TITLES, UNSEEN_TITLES } from './wording-data-causes.js'
import { FEATURE_WORDS } from './wording-data-features.js'
import { DECLINE_TITLES, PUT_OFF_TITLES, SECTION_TITLES, SENTENCES, type SentenceKey } from './wording-data-sentences.js'
import { DECLINE_REASONS, PUT_OFF_REASONS } from './suggestion-replies.js'
import { wantedByMs } from './suggestion-due.js'
import { shortCode } from './suggestion-id.js'
import type { Suggestion, SuggestionChange } from './suggestion.js'
import { isWork, workItem } from './work-catalogue.js'

/** A cause in words beside its numbers. */
export interface CauseView extends RankedCause {
  readonly title: string
  /** "about 7 in 10". */
  readonly words: string
  readonly memberTitles?: readonly string[]
}

/** A job in words; `steps` holds isolation, job, verification and return to service in one list, in order. */
export interface WorkView {
  readonly id: string
  readonly title: string
  readonly steps: readonly string[]
  readonly people: number
  readonly minutes: readonly [number, number]
  readonly minutesWithWasher?: readonly [number, number]
  readonly tools: readonly string[]
  readonly needsElectrician: boolean
  readonly verification: string
}

/** A suggestion as people read it: its own facts with ISO times, and all texts in one language. */
export interface SuggestionView extends Omit<Suggestion, 'raisedMs' | 'onsetMs' | 'statusMs' | 'history' | 'causes' | 'checkFirst' | 'work' | 'cautions' | 'due'> {
  readonly shortCode: string
  readonly raised: string
  readonly onset: string
  readonly due?: { readonly kind: 'date'; readonly earliest: string; readonly likely: string } | { readonly kind: 'too-early' }
  readonly statusTime: string
  readonly history: readonly { readonly time: string; readonly status: string; readonly reason?: string; readonly until?: string; readonly by?: string }[]
  readonly headline: string
  readonly reasons: readonly string[]
  readonly against: readonly string[]
  readonly missing: readonly string[]
  readonly causes: readonly CauseView[]
  readonly checkFirst: { readonly check: string; readonly title: string; readonly minutes: number; readonly steps: readonly string[]; readonly needsElectrician: boolean }
  readonly work: readonly WorkView[]
  readonly cautions: readonly string[]
  readonly cautionIds: readonly string[]
  readonly byWhen: string
  readonly invisibleText: string
}

/**
 * A suggestion in words.
 *
 * @param language a language tag; only the catalogue's languages are taken
 * @param timeZone IANA zone for dates in texts
 * @throws Error for a language the catalogue is not written in, or a caution without text in it
 */
export function suggestionView(suggestion: Suggestion, language: string, timeZone = 'UTC'): SuggestionView {
  const spoken = requireLanguage(language)
  const { raisedMs, onsetMs, statusMs, history, causes, checkFirst, work, cautions, due, ...rest } = suggestion
  const evidence = (stance: EvidenceItem['stance']): string[] => suggestion.evidence.filter((item) => item.stance === stance).map((item) => evidenceText(item, spoken))
  const wouldTell = suggestion.channelThatWouldTell === undefined ? [] : [fill(say('channel.would-tell', spoken), { channel: channelTitle(suggestion.channelThatWouldTell, spoken) })]
  return {
    ...rest,
    shortCode: shortCode(suggestion.id),
    raised: isoTime(raisedMs),
    onset: isoTime(onsetMs),
    ...(due === undefined ? {} : { due: due.kind === 'date' ? { kind: due.kind, earliest: isoTime(due.earliestMs), likely: isoTime(due.likelyMs) } : due }),
    statusTime: isoTime(statusMs),
    history: history.map(historyView),
    headline: headlineOf(suggestion, spoken),
    reasons: evidence('for'),
    against: evidence('against'),
    missing: [...evidence('missing'), ...wouldTell],
    causes: causes.map((cause) => causeView(cause, spoken)),
    checkFirst: { ...checkFirst, ...checkWords(checkFirst.check, spoken) },
    work: work.map((id) => workView(id, spoken)),
    cautions: cautions.map((id) => cautionText(id, spoken)),
    cautionIds: cautions,
    byWhen: byWhenText(suggestion, spoken, timeZone),
    invisibleText: invisibleText(suggestion.invisible, spoken),
  }
}

/** Language of the catalogue for a tag. @throws Error for any other */
export function requireLanguage(tag: string): Language {
  const result = catalogueLanguage(tag)
  if (result.kind === 'unknown-language') throw new Error(`language "${result.found}" is not in the catalogue; expected one of ${result.expected.join(', ')}`)
  return result.language
}

/** Name of a cause or group. @throws Error for a cause that has none */
export function causeTitle(cause: string, language: Language): string {
  const titles: Readonly<Record<string, InLanguages<string>>> = Object.hasOwn(GROUP_TITLES, cause) ? GROUP_TITLES : CAUSE_TITLES
  if (!Object.hasOwn(titles, cause)) throw new Error(`no title for cause "${cause}"`)
  return titles[cause]![language]
}

/** A probability as a natural frequency: "about 7 in 10". */
export function frequencyWords(probability: number, language: Language): string {
  if (!(probability >= 0 && probability <= 1)) throw new Error(`probability ${probability}; expected 0 to 1`)
  const tenths = Math.round(probability * 10)
  if (tenths === 0) return say('words.few', language)
  if (tenths === 10) return say('words.most', language)
  return tenths === 1 ? say('words.one', language) : fill(say('words.about', language), { n: String(tenths) })
}

/** Reasons a person can give for putting off and declining, in the order shown. */
export function reasonLists(language: Language): { readonly putOff: readonly { id: string; title: string }[]; readonly decline: readonly { id: string; title: string }[] } {
  return {
    putOff: PUT_OFF_REASONS.map((id) => ({ id, title: PUT_OFF_TITLES[id][language] })),
    decline: DECLINE_REASONS.map((id) => ({ id, title: DECLINE_TITLES[id][language] })),
  }
}

/** What no sensor of the line can show, as a sentence; a sentence of its own where every fault can show. */
export function invisibleText(invisible: readonly string[], language: Language): string {
  const places = [...new Set(invisible.flatMap((cause) => UNSEEN_TITLES[cause as CauseId]?.[language] ?? []))]
  if (places.length === 0) return say('invisible.none', language)
  return fill(say('invisible', language), { places: listText(places, say('list.and', language)) })
}

/** A job in words. @throws Error for a job the catalogue does not hold */
export function workView(id: string, language: Language): WorkView {
  const words = jobWords(id, language)
  return {
    id,
    title: words.title,
    steps: allSteps(words, language),
    people: words.people,
    minutes: words.minutes,
    ...(words.minutesWithWasher === undefined ? {} : { minutesWithWasher: words.minutesWithWasher }),
    tools: words.tools,
    needsElectrician: words.needsElectrician,
    verification: words.verification,
  }
}

/** Isolation, job, then either the job that must follow at once or verification and return to service. */
function allSteps(words: JobWords, language: Language): string[] {
  const follow = workItem(words.id).followedBy
  const washer = words.minutesWithWasher === undefined ? [] : [fill(say('washer', language), { from: String(words.minutesWithWasher[0]), to: String(words.minutesWithWasher[1]) })]
  const neglected = words.minutesWhenNeglected === undefined ? [] : [fill(say('neglected', language), { from: hours(words.minutesWhenNeglected[0], language), to: hours(words.minutesWhenNeglected[1], language) })]
  const steps = [...words.before, ...words.steps, ...washer, ...neglected]
  // A half-done job has no return to service: the line must not start between the two.
  if (follow !== undefined && isWork(follow)) return [...steps, fill(say('half-done', language), { job: jobWords(follow, language).title }), fill(say('verify', language), { text: words.verification })]
  return [...steps, ...words.after, fill(say('verify', language), { text: words.verification })]
}

function hours(minutes: number, language: Language): string {
  return numberText(minutes / 60, language)
}

function say(key: SentenceKey, language: Language): string {
  return SENTENCES[key][language]
}

function isoTime(timeMs: number): string {
  return new Date(timeMs).toISOString()
}

function historyView({ timeMs, status, reason, untilMs, by }: SuggestionChange): SuggestionView['history'][number] {
  return { time: isoTime(timeMs), status, ...(reason === undefined ? {} : { reason }), ...(untilMs === undefined ? {} : { until: isoTime(untilMs) }), ...(by === undefined ? {} : { by }) }
}

function causeView(cause: RankedCause, language: Language): CauseView {
  return {
    ...cause,
    title: causeTitle(cause.cause, language),
    words: frequencyWords(cause.probability, language),
    ...(cause.members === undefined ? {} : { memberTitles: cause.members.map((member) => causeTitle(member, language)) }),
  }
}

/** Name of a channel by its pattern or id; the id itself where there is none. */
export function channelTitle(channel: string, language: Language): string {
  return CHANNEL_TITLES[channel]?.[language] ?? channel
}

/** "Likely" from 8 in 10, "possible" from 5 in 10, below that "cannot tell". [ASM, common words of confidence] */
function headlineOf(suggestion: Suggestion, language: Language): string {
  const place = suggestion.zone === undefined ? SECTION_TITLES[suggestion.section][language] : fill(say('place.zone', language), { zone: String(suggestion.zone) })
  const lead = suggestion.causes[0]
  if (lead === undefined || lead.cause === NONE_OF_THESE) return fill(say('headline.unknown', language), { place })
  const key: SentenceKey = lead.probability >= 0.8 && !suggestion.abstains ? 'headline.likely' : lead.probability >= 0.5 ? 'headline.possible' : 'headline.cannot-tell'
  return fill(say(key, language), { place, cause: causeTitle(lead.cause, language), words: frequencyWords(lead.probability, language) })
}

function byWhenText(suggestion: Suggestion, language: Language, timeZone: string): string {
  const { urgency, due } = suggestion
  const dated = due?.kind === 'date'
  const work = fill(say(`by-when.${urgency}`, language), { date: dateText(wantedByMs(suggestion), language, timeZone) })
  if (due === undefined) return work
  return fill(say(dated ? 'by-when.likely' : 'by-when.too-early', language), dated ? { work, date: dateText(due.earliestMs, language, timeZone), likely: dateText(due.likelyMs, language, timeZone) } : { work })
}

/** One piece of evidence as a sentence. */
export function evidenceText(item: EvidenceItem, language: Language): string {
  const { pattern, zone } = featureParts(item.feature)
  const words = FEATURE_WORDS[pattern]
  const parts = { zone: String(zone ?? ''), kind: /^board\.defects\.([^.]+)\./.exec(item.feature)?.[1] ?? '' }
  const name = words === undefined ? item.feature : fill(words.words[language].name, parts)
  if (item.key !== 'evidence.up' && item.key !== 'evidence.down') return fill(say(item.key as SentenceKey, language), { ...countsOf(item), name, ...parts })
  const way = item.key === 'evidence.up' ? 'up' : 'down'
  const own = words?.words[language][way]
  const plain = fill(say(way === 'up' ? 'evidence.above' : 'evidence.below', language), { name })
  // A feature of the site's own keeps its name as it is.
  const sentence = own !== undefined ? fill(own, parts) : words === undefined ? plain : capital(plain)
  const amount = changeText(words?.form ?? 'none', Number(item.values['shift'] ?? 0), Number(item.values['centre'] ?? 0), language)
  const windows = Number(item.values['windows'] ?? 0)
  const key: SentenceKey = amount === '' ? 'evidence.plain' : windows >= 2 ? 'evidence.windows' : 'evidence.window'
  return fill(say(key, language), { sentence, amount, windows: String(windows) })
}

function countsOf({ values }: EvidenceItem): Record<string, string> {
  return Object.fromEntries(Object.entries(values).map(([name, value]) => [name, String(value)]))
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1)
}
