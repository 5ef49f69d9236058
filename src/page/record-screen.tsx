import { useState } from 'preact/hooks'
import type { LineSummary } from './api-types.js'
import { timeText } from './format.js'
import { hashOf, useAnswer } from './page-state.js'
import { records, type RecordView } from './record-client.js'
import { RecordsFromCsv } from './record-csv.js'
import { RecordForm } from './record-form.js'
import { recordText, type RecordWord } from './record-texts.js'
import { changedRows, rowsOf } from './record-words.js'
import type { ScreenProps } from './screen.js'
import { text, type Language } from './texts.js'

const SECTIONS = ['fluxer', 'preheat', 'transport', 'pot'] as const
const AT_ONCE = 30

/** Records of work of a line, the newest first: what, when, as found, and what was corrected. */
export function RecordsScreen({ language, route, lines, line, news }: ScreenProps) {
  const [section, setSection] = useState('')
  const [work, setWork] = useState('')
  const [limit, setLimit] = useState(AT_ONCE)
  const [changed, setChanged] = useState(0)
  const job = route.query?.['job'] ?? ''
  const id = line?.line ?? ''
  const { answer: list, failure } = useAnswer(() => records.of(id, { section, work, job, limit }, language), [id, section, work, job, limit, language, news.fact, changed])
  const say = (key: RecordWord, values?: Readonly<Record<string, string | number>>): string => recordText(language, key, values)
  if (line === undefined) return null
  const shown = list?.records ?? []
  const total = list?.total ?? 0
  const code = shown[0]?.job?.shortCode ?? ''
  return (
    <section aria-labelledby="records-title" class="records">
      <h2 id="records-title">
        {say('title')}: {line.title}
      </h2>
      <div class="field-line no-print">
        {(lines ?? []).length > 1 && (
          <label class="field">
            {say('line')}
            <select name="records-line" value={line.line} onChange={(event) => (location.hash = hashOf({ view: 'records', line: event.currentTarget.value }))}>
              {(lines ?? []).map((known) => (
                <option key={known.line} value={known.line}>
                  {known.title}
                </option>
              ))}
            </select>
          </label>
        )}
        <Choice name="section" label={say('section')} all={say('all-sections')} value={section} options={SECTIONS.map((name) => [name, text(language, `section.${name}`)])} onValue={setSection} />
        <Choice name="work-done" label={say('work')} all={say('all-works')} value={work} options={(list?.works ?? []).map((known) => [known.work, known.title])} onValue={setWork} />
      </div>
      {job !== '' && (
        <p>
          {say('one-job', { code })} · <a href={hashOf({ view: 'records', line: line.line })}>{say('not-only-job')}</a>
        </p>
      )}
      {failure !== undefined && <p role="alert">{failure}</p>}
      {list !== undefined && total === 0 && <p class="empty">{say(list.works.length === 0 ? 'none' : 'none-chosen')}</p>}
      <ol class="plain">
        {shown.map((record) => (
          <RecordCard key={record.id} record={record} line={line} language={language} onChanged={() => setChanged(changed + 1)} />
        ))}
      </ol>
      <p class="actions">
        {total > shown.length && (
          <button type="button" onClick={() => setLimit(limit + AT_ONCE)}>
            {say('more')}
          </button>
        )}
        {total > 0 && <span class="soft">{say('shown', { shown: shown.length, total })}</span>}
        {(list?.works ?? []).length > 0 && (
          <a class="button" href={`./api/lines/${encodeURIComponent(line.line)}/records.csv`} download="records.csv">
            {say('csv')}
          </a>
        )}
        <a class="button" href={hashOf({ view: 'shift' })}>
          {text(language, 'nav.shift')}
        </a>
      </p>
      <RecordsFromCsv line={line.line} language={language} onTaken={() => setChanged(changed + 1)} />
    </section>
  )
}

interface ChoiceProps {
  readonly name: string
  readonly label: string
  readonly all: string
  readonly value: string
  readonly options: readonly (readonly [string, string])[]
  readonly onValue: (value: string) => void
}

function Choice({ name, label, all, value, options, onValue }: ChoiceProps) {
  return (
    <label class="field">
      {label}
      <select name={name} value={value} onChange={(event) => onValue(event.currentTarget.value)}>
        <option value="">{all}</option>
        {options.map(([id, title]) => (
          <option key={id} value={id}>
            {title}
          </option>
        ))}
      </select>
    </label>
  )
}

interface CardProps {
  readonly record: RecordView
  readonly line: LineSummary
  readonly language: Language
  readonly onChanged: () => void
}

function RecordCard({ record, line, language, onChanged }: CardProps) {
  const [open, setOpen] = useState<'correct' | 'withdraw' | undefined>(undefined)
  const say = (key: RecordWord, values?: Readonly<Record<string, string | number>>): string => recordText(language, key, values)
  const { photo } = record.record
  const place = `${record.sectionTitle}${record.record.zone === undefined ? '' : ` · ${text(language, 'zone')} ${record.record.zone}`}`
  const toggle = (which: 'correct' | 'withdraw'): void => setOpen(open === which ? undefined : which)
  const done = (): void => {
    setOpen(undefined)
    onChanged()
  }
  return (
    <li class={`card record-card ${record.withdrawn ? 'is-withdrawn' : ''}`} data-record={record.id}>
      <h3>{record.title}</h3>
      <p class="soft">
        {timeText(record.time, language, line.timeZone)} · {place}
        {record.entered !== undefined && isLate(record) && ` · ${say('entered')} ${timeText(record.entered, language, line.timeZone)}`}
        {record.job !== undefined && (
          <>
            {' · '}
            {say('of-job')} <a href={hashOf({ view: 'job', query: { job: record.job.id } })}>{record.job.shortCode}</a>
          </>
        )}
      </p>
      {record.withdrawn && (
        <p>
          <b>{say('withdrawn')}</b>
        </p>
      )}
      <dl class="said">
        {rowsOf(record, language, line.timeZone)
          .filter(({ key }) => !['title', 'time', 'zone', 'photo'].includes(key))
          .map(({ key, label, words }) => (
            <div key={key} data-said={key}>
              <dt>{label}</dt>
              <dd>{words}</dd>
            </div>
          ))}
      </dl>
      {photo !== undefined && (
        <a class="record-photo" href={records.photoUrl(line.line, photo.sha256)} target="_blank" rel="noopener">
          <img src={records.photoUrl(line.line, photo.sha256)} alt={`${say('photo')}: ${photo.name}`} loading="lazy" />
        </a>
      )}
      <Corrections record={record} language={language} timeZone={line.timeZone} />
      {record.correctable && (
        <p class="actions">
          <button type="button" aria-expanded={open === 'correct'} onClick={() => toggle('correct')}>
            {say(open === 'correct' ? 'close' : 'correct')}
          </button>
          <button type="button" aria-expanded={open === 'withdraw'} onClick={() => toggle('withdraw')}>
            {say(open === 'withdraw' ? 'close' : 'withdraw')}
          </button>
        </p>
      )}
      {open === 'correct' && <RecordForm lines={[line]} language={language} former={record} onDone={done} />}
      {open === 'withdraw' && <WithdrawForm record={record} line={line.line} language={language} onDone={done} />}
    </li>
  )
}

/** Entered so long after the work that it is worth saying. */
function isLate({ entered, time }: RecordView): boolean {
  return entered !== undefined && Date.parse(entered) - Date.parse(time) >= 3_600_000
}

/** What the record said before, each time with what changed and why; the newest correction first. */
function Corrections({ record, language, timeZone }: { readonly record: RecordView; readonly language: Language; readonly timeZone: string }) {
  const { earlier, withdrawn } = record
  if (earlier.length === 0) return null
  const steps = earlier.map((before, index) => ({ before, after: earlier[index + 1] ?? record, isEnd: withdrawn && index === earlier.length - 1 }))
  return (
    <details class="corrections">
      <summary>{recordText(language, 'history', { count: earlier.length })}</summary>
      <ol class="plain">
        {[...steps].reverse().map(({ before, after, isEnd }) => (
          <li key={before.correctedTime + before.reason}>
            {timeText(before.correctedTime, language, timeZone)} · {recordText(language, isEnd ? 'taken-back' : 'corrected')}
            {before.by !== undefined && ` · ${recordText(language, 'by')} ${before.by}`}: {before.reason}
            <ul>
              {changedRows(before, after, language, timeZone).map(({ key, label, before: was, after: is }) => (
                <li key={key}>
                  {label}: {is} <span class="soft">({recordText(language, 'it-said')}: {was})</span>
                </li>
              ))}
            </ul>
          </li>
        ))}
      </ol>
    </details>
  )
}

interface WithdrawProps {
  readonly record: RecordView
  readonly line: string
  readonly language: Language
  readonly onDone: () => void
}

/** Takes a record back, with the reason. */
function WithdrawForm({ record, line, language, onDone }: WithdrawProps) {
  const [why, setWhy] = useState('')
  const [said, setSaid] = useState('')
  const [waits, setWaits] = useState(false)
  const [sending, setSending] = useState(false)
  const say = (key: RecordWord): string => recordText(language, key)
  const send = async (): Promise<void> => {
    setSending(true)
    setSaid('')
    try {
      const answer = (await records.correct(line, record.id, why.trim(), undefined, language)) as { waits?: boolean }
      if (answer.waits === true) setWaits(true)
      else onDone()
    } catch (error) {
      setSaid(`${say('refused')}: ${error instanceof Error ? error.message : String(error)}`)
    } finally {
      setSending(false)
    }
  }
  if (waits) return <p role="status">{say('waits')}</p>
  return (
    <form
      class="no-print"
      onSubmit={(event) => {
        event.preventDefault()
        void send()
      }}
    >
      <p class="measure">{say('back-says')}</p>
      <label class="field">
        {say('why-back')}
        <input name="why-back" type="text" maxLength={200} value={why} onInput={(event) => setWhy(event.currentTarget.value)} />
      </label>
      <p class="actions">
        <button type="submit" class="main" disabled={why.trim() === '' || sending}>
          {say('send')}
        </button>
      </p>
      {said !== '' && (
        <p class="act" role="alert">
          {said}
        </p>
      )}
    </form>
  )
}
