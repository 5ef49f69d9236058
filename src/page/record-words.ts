import { numberText, timeText } from './format.js'
import { jobText, type JobWord } from './job-words.js'
import type { RecordVersion } from './record-client.js'
import { recordText, type RecordWord } from './record-texts.js'
import type { Language } from './texts.js'

/** One thing a record says: its name and its words. */
export interface SaidRow {
  readonly key: string
  readonly label: string
  readonly words: string
}

/** Values of the catalogue that have a name in the page's languages; another keeps the name it came with. */
const NAMED_VALUES: readonly string[] = ['flowChange', 'holdLoss', 'doseDeviation', 'airSpread', 'probeDifference', 'dwellDifference']

/** All a version of a record says, in the order it is entered; what it does not say has no row. */
export function rowsOf(version: RecordVersion, language: Language, timeZone: string): readonly SaidRow[] {
  const { record } = version
  const say = (key: RecordWord, values?: Readonly<Record<string, string | number>>): string => recordText(language, key, values)
  const number = (value: number): string => numberText(value, language)
  const row = (key: string, label: string, words: string | undefined): readonly SaidRow[] => (words === undefined || words === '' ? [] : [{ key, label, words }])
  return [
    ...row('title', say('row.title'), version.title),
    ...row('zone', say('row.zone'), record.zone?.toString()),
    ...row('time', say('row.time'), timeText(version.time, language, timeZone)),
    ...row('finding', say('found'), record.finding === undefined ? undefined : `${record.finding} ${jobText(language, `finding.${record.finding}` as JobWord)}`),
    ...row('minutes', jobText(language, 'took'), [...(record.minutes === undefined ? [] : [say('took', { minutes: number(record.minutes) })]), ...(record.washer === true ? [say('washer')] : [])].join(', ')),
    ...row('people', say('people'), record.people?.toString()),
    ...row('product', say('product'), version.productTitle),
    ...row('surface', say('surface'), record.surfaceC === undefined ? undefined : `${number(record.surfaceC)} °C`),
    ...row('deviation', say('deviation'), record.deviation),
    ...row('lot', say('lot'), record.lot),
    ...row('passes', say('passes'), record.passes?.toString()),
    ...row('parts', say('parts-used'), record.parts?.join(', ')),
    ...version.measured.flatMap(({ value, amount, unit }) => row(`value.${value}`, NAMED_VALUES.includes(value) ? jobText(language, `value.${value}` as JobWord) : value, `${number(amount)}${unit === undefined ? '' : ` ${unit}`}`)),
    ...row('check', say('check'), record.handCheck === undefined ? undefined : say(record.handCheck)),
    ...row('by', say('by'), record.by),
    ...row('remark', say('remark'), record.remark),
    ...row('photo', say('photo'), record.photo?.name),
  ]
}

/** What one version says otherwise than the next: the name, the words before and the words after. */
export function changedRows(before: RecordVersion, after: RecordVersion, language: Language, timeZone: string): readonly { readonly key: string; readonly label: string; readonly before: string; readonly after: string }[] {
  const [old, now] = [rowsOf(before, language, timeZone), rowsOf(after, language, timeZone)]
  const nothing = recordText(language, 'nothing')
  return [...new Map([...old, ...now].map((row) => [row.key, row.label]))].flatMap(([key, label]) => {
    const [was, is] = [old, now].map((rows) => rows.find((row) => row.key === key)?.words ?? nothing) as [string, string]
    return was === is ? [] : [{ key, label, before: was, after: is }]
  })
}
