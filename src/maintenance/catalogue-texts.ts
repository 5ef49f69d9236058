import { z } from 'zod'
import { LANGUAGES, type InLanguages, type Language } from './catalogue-language.js'
import { CAUTION_TEXTS, ISOLATION_TEXTS, RETURN_TEXTS } from './work-catalogue-data-safety.js'
import { CHECK_TEXTS, type CheckText } from './work-catalogue-data-checks.js'
import { JOB_TEXTS_EN_US, type JobText } from './work-catalogue-data-jobs-en-us.js'
import { JOB_TEXTS_ES } from './work-catalogue-data-jobs-es.js'
import { MORE_JOB_TEXTS } from './work-catalogue-data-jobs-more.js'
import { returnStepsOf, workItem, type IsolationStep, type ReturnStep } from './work-catalogue.js'

const JOB_TEXTS: InLanguages<Readonly<Record<string, JobText>>> = { 'en-US': { ...JOB_TEXTS_EN_US, ...moreIn('en-US') }, es: { ...JOB_TEXTS_ES, ...moreIn('es') } }

function moreIn(language: Language): Record<string, JobText> {
  return Object.fromEntries(Object.entries(MORE_JOB_TEXTS).map(([id, texts]) => [id, texts[language]]))
}

/** Plain words: no exclamation marks, no blank ends. */
const lineSchema = z.string().min(3).refine((text) => text.trim() === text && !/[!¡]/.test(text), 'expected plain text without exclamation marks or blank ends')
const jobTextSchema = z.strictObject({ title: lineSchema, steps: z.array(lineSchema).min(1), tools: z.array(lineSchema).min(1), verification: lineSchema })
const checkTextSchema = z.strictObject({ title: lineSchema, steps: z.array(lineSchema).min(1) })

function inLanguages<Schema extends z.ZodType>(schema: Schema): z.ZodRecord<z.ZodString, z.ZodObject<Record<Language, Schema>>> {
  return z.record(z.string(), z.strictObject(Object.fromEntries(LANGUAGES.map((language) => [language, schema])) as Record<Language, Schema>))
}

/** Form of all texts of the catalogue; they are checked against it when they are loaded. */
export const catalogueTextsSchema = z.strictObject({
  jobs: z.strictObject({ 'en-US': z.record(z.string(), jobTextSchema), es: z.record(z.string(), jobTextSchema) }),
  checks: inLanguages(checkTextSchema),
  cautions: inLanguages(lineSchema),
  isolation: inLanguages(lineSchema),
  returns: inLanguages(lineSchema),
})

const checked = catalogueTextsSchema.safeParse({ jobs: JOB_TEXTS, checks: CHECK_TEXTS, cautions: CAUTION_TEXTS, isolation: ISOLATION_TEXTS, returns: RETURN_TEXTS })
if (!checked.success) throw new Error(`catalogue texts: ${z.prettifyError(checked.error)}`)

/** A job in words, with all it takes. */
export interface JobWords extends JobText {
  readonly id: string
  readonly people: number
  readonly minutes: readonly [number, number]
  readonly minutesWithWasher?: readonly [number, number]
  readonly minutesWhenNeglected?: readonly [number, number]
  readonly needsElectrician: boolean
  /** Steps before the job, and before the line runs again. */
  readonly before: readonly string[]
  readonly after: readonly string[]
}

/**
 * A job in one language.
 * @throws Error for a job the catalogue does not hold, or has no text for
 */
export function jobWords(id: string, language: Language): JobWords {
  const item = workItem(id)
  const text = own(JOB_TEXTS[language], id, 'job', language)
  return {
    id,
    ...text,
    people: item.people,
    minutes: item.minutesByHand,
    ...(item.minutesWithWasher === undefined ? {} : { minutesWithWasher: item.minutesWithWasher }),
    ...(item.minutesWhenNeglected === undefined ? {} : { minutesWhenNeglected: item.minutesWhenNeglected }),
    needsElectrician: item.needsElectrician,
    before: item.isolation.map((step) => isolationText(step, language)),
    after: returnStepsOf(item).map((step) => returnText(step, language)),
  }
}

/**
 * A check in one language.
 * @throws Error for a check that has no text
 */
export function checkWords(id: string, language: Language): CheckText {
  return own(CHECK_TEXTS, id, 'check', language)[language]
}

/**
 * A caution in one language; it is never given in another.
 * @throws Error for a caution or a language that has no text
 */
export function cautionText(id: string, language: Language): string {
  const texts = own(CAUTION_TEXTS as Readonly<Record<string, InLanguages<string>>>, id, 'caution', language)
  return own(texts, language, `caution "${id}" in language`, language)
}

/** A job's own words, without what its lists add. @throws Error for a job that has no text */
export function jobText(id: string, language: Language): JobText {
  return own(JOB_TEXTS[language], id, 'job', language)
}

/** A step before the line runs again. */
export function returnText(step: ReturnStep, language: Language): string {
  return own(RETURN_TEXTS, step, 'return step', language)[language]
}

/** A step of isolation before the work. */
export function isolationText(step: IsolationStep, language: Language): string {
  return own(ISOLATION_TEXTS, step, 'isolation step', language)[language]
}

function own<Text>(texts: Readonly<Record<string, Text>>, key: string, what: string, language: Language): Text {
  const text = texts[key]
  if (text === undefined || !Object.hasOwn(texts, key)) throw new Error(`no text for ${what} "${key}" in ${language}; expected one of ${Object.keys(texts).join(', ')}`)
  return text
}
