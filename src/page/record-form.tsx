import { useState } from 'preact/hooks'
import type { LineSummary } from './api-types.js'
import { jobs, type JobView, type PassCriterion, type WorkChoice } from './job-client.js'
import { jobText, type JobWord } from './job-words.js'
import { useAnswer } from './page-state.js'
import { records, type RecordView } from './record-client.js'
import { draftOf, newDraft, recordFrom, type RecordDraft } from './record-draft.js'
import { recordText } from './record-texts.js'
import type { Language } from './texts.js'

const SECTIONS = ['fluxer', 'preheat', 'transport', 'pot'] as const
const FINDINGS = [0, 1, 2, 3, 4] as const

interface FormProps {
  readonly lines: readonly LineSummary[]
  readonly language: Language
  /** The job it belongs to; without it the work is chosen. */
  readonly job?: JobView
  /** The record that is corrected, of the one line given. */
  readonly former?: RecordView
  readonly onDone: () => void
}

/** What was done, in seconds: as found, minutes, product; the rest behind one tap. A record that was wrong stands in it as it was. */
export function RecordForm({ lines, language, job, former, onDone }: FormProps) {
  const first = lines[0]
  const [draft, setDraft] = useState<RecordDraft>(() => (former === undefined ? newDraft(first?.line ?? '', job) : draftOf(first?.line ?? '', former.record, first?.timeZone ?? 'UTC')))
  const [why, setWhy] = useState('')
  const [said, setSaid] = useState('')
  const [waits, setWaits] = useState(false)
  const [sending, setSending] = useState(false)
  const { answer: choices } = useAnswer(() => (draft.line === '' ? Promise.resolve([]) : jobs.work(draft.line, language)), [draft.line, language])
  const say = (key: JobWord, values?: Readonly<Record<string, string | number>>): string => jobText(language, key, values)
  const set = (change: Partial<RecordDraft>): void => setDraft((before) => ({ ...before, ...change }))
  const chosen = choices?.find(({ work }) => work === draft.work)
  // A check recorded by itself is in no list of jobs; it can be corrected all the same.
  const known = chosen !== undefined || (former !== undefined && choices !== undefined && former.record.work === draft.work)

  const send = async (): Promise<void> => {
    setSending(true)
    setSaid('')
    try {
      const photo = draft.photo === undefined ? undefined : await jobs.photo(draft.line, draft.photo)
      const timeZone = lines.find(({ line }) => line === draft.line)?.timeZone ?? 'UTC'
      const record = recordFrom(draft, { chosen, timeZone, job: job?.id, former: former?.record, photo })
      const answer = (await (former === undefined ? jobs.record(draft.line, record, language) : records.correct(draft.line, former.id, why.trim(), record, language))) as { waits?: boolean }
      if (answer.waits === true) setWaits(true)
      else onDone()
    } catch (error) {
      setSaid(`${say('refused')}: ${error instanceof Error ? error.message : String(error)}`)
    } finally {
      setSending(false)
    }
  }

  // Kept once on this device: the form goes, so that nobody sends it again.
  if (waits) {
    return (
      <p class="card record-form done" role="status">
        {say('waits')}
      </p>
    )
  }
  return (
    <form
      class="card record-form no-print"
      onSubmit={(event) => {
        event.preventDefault()
        void send()
      }}
    >
      <h3>{former !== undefined ? recordText(language, 'correct-title', { title: former.title }) : job === undefined ? say('new-record') : job.title}</h3>
      {job === undefined && <WorkFields draft={draft} lines={lines} choices={choices ?? []} former={former} language={language} onDraft={set} />}
      <fieldset class="looks">
        <legend>{say('finding')}</legend>
        {FINDINGS.map((finding) => (
          <label key={finding} class={`choice ${draft.finding === finding ? 'chosen' : ''}`}>
            <input type="radio" name="finding" checked={draft.finding === finding} onChange={() => set({ finding })} /> {finding} {say(`finding.${finding}`)}
          </label>
        ))}
      </fieldset>
      <div class="field-line">
        <Input name="minutes" label={say('took')} type="number" value={draft.minutes} onValue={(minutes) => set({ minutes })} />
        {(draft.product !== '' || (chosen !== undefined && chosen.products.length > 0)) && (
          <label class="field">
            {say('product')}
            <select name="product" value={draft.product} onChange={(event) => set({ product: event.currentTarget.value })}>
              <option value="">{say('no-product')}</option>
              {productsOf(chosen, draft.product, former).map(({ product, title }) => (
                <option key={product} value={product}>
                  {title}
                </option>
              ))}
            </select>
          </label>
        )}
        {draft.product !== '' && (chosen?.kind === 'cleaning' || draft.surfaceC !== '') && <Input name="surfaceC" label={say('surface')} type="number" value={draft.surfaceC} onValue={(surfaceC) => set({ surfaceC })} />}
        {chosen?.passIf.map((criterion) => <Measured key={criterion.value} criterion={criterion} language={language} value={draft.values[criterion.value] ?? ''} onValue={(value) => set({ values: { ...draft.values, [criterion.value]: value } })} />)}
      </div>
      <fieldset class="looks">
        <legend>{say('verify')}</legend>
        {(['passed', 'failed'] as const).map((key) => (
          <label key={key} class={`choice ${draft.handCheck === key ? 'chosen' : ''}`}>
            <input type="radio" name="hand-check" checked={draft.handCheck === key} onChange={() => set({ handCheck: key })} /> {say(key)}
          </label>
        ))}
      </fieldset>
      <details open={former !== undefined}>
        <summary>{say('more')}</summary>
        <div class="field-line">
          <label class="field">
            {recordText(language, 'when')}
            <input type="datetime-local" name="when" value={draft.when} onInput={(event) => set({ when: event.currentTarget.value })} />
          </label>
          <label class="choice">
            <input type="checkbox" name="washer" checked={draft.washer} onChange={(event) => set({ washer: event.currentTarget.checked })} /> {say('washer')}
          </label>
          <Input name="passes" label={say('passes')} type="number" value={draft.passes} onValue={(passes) => set({ passes })} />
          <Input name="people" label={recordText(language, 'people')} type="number" value={draft.people} onValue={(people) => set({ people })} />
          <Input name="parts" label={recordText(language, 'parts')} type="text" value={draft.parts} onValue={(parts) => set({ parts })} />
          <Input name="lot" label={say('lot')} type="text" value={draft.lot} onValue={(lot) => set({ lot })} />
          <Input name="remark" label={say('remark')} type="text" value={draft.remark} onValue={(remark) => set({ remark })} />
          {draft.deviation !== '' && <Input name="deviation" label={say('deviation')} type="text" value={draft.deviation} onValue={(deviation) => set({ deviation })} />}
          {former?.record.photo !== undefined && (
            <label class="choice">
              <input type="checkbox" name="drop-photo" checked={draft.dropPhoto} onChange={(event) => set({ dropPhoto: event.currentTarget.checked })} /> {recordText(language, 'drop-photo')}
            </label>
          )}
          <label class="field">
            {say('photo')}
            <input type="file" name="photo" accept="image/jpeg,image/png,image/webp" onChange={(event) => set({ photo: event.currentTarget.files?.[0] })} />
          </label>
        </div>
      </details>
      {former !== undefined && <Input name="why" label={recordText(language, 'why')} type="text" value={why} onValue={setWhy} />}
      <p class="actions">
        <button type="submit" class="main wide-button" disabled={!known || sending || (former !== undefined && why.trim() === '')}>
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

/** What the job may be done with; what a record names all the same can stay in it. */
function productsOf(chosen: WorkChoice | undefined, named: string, former: RecordView | undefined): WorkChoice['products'] {
  const products = chosen?.products ?? []
  if (named === '' || products.some(({ product }) => product === named)) return products
  return [...products, { product: named, title: former?.record.product === named ? (former.productTitle ?? named) : named }]
}

interface WorkProps {
  readonly draft: RecordDraft
  readonly lines: readonly LineSummary[]
  readonly choices: readonly WorkChoice[]
  readonly former: RecordView | undefined
  readonly language: Language
  readonly onDraft: (change: Partial<RecordDraft>) => void
}

function WorkFields({ draft, lines, choices, former, language, onDraft }: WorkProps) {
  const isListed = (work: string): boolean => choices.some((choice) => choice.work === work)
  const section = choices.find(({ work }) => work === draft.work)?.section ?? (former?.record.work === draft.work ? former.record.section : undefined)
  return (
    <div class="field-line">
      {lines.length > 1 && (
        <label class="field">
          {jobText(language, 'line')}
          <select name="line" value={draft.line} onChange={(event) => onDraft({ line: event.currentTarget.value, work: '' })}>
            {lines.map((line) => (
              <option key={line.line} value={line.line}>
                {line.title}
              </option>
            ))}
          </select>
        </label>
      )}
      <label class="field">
        {jobText(language, 'work')}
        <select name="work" value={draft.work} onChange={(event) => onDraft({ work: event.currentTarget.value, product: '', deviation: '', values: {} })}>
          {former === undefined && <option value="">–</option>}
          {former !== undefined && !isListed(former.record.work) && <option value={former.record.work}>{former.title}</option>}
          {SECTIONS.map((place) => (
            <optgroup key={place} label={jobText(language, `section.${place}`)}>
              {choices
                .filter((choice) => choice.section === place)
                .map(({ work, title }) => (
                  <option key={work} value={work}>
                    {title}
                  </option>
                ))}
            </optgroup>
          ))}
        </select>
      </label>
      {section === 'preheat' && <Input name="zone" label={jobText(language, 'zone')} type="number" value={draft.zone} onValue={(zone) => onDraft({ zone })} />}
    </div>
  )
}

function Measured({ criterion, language, value, onValue }: { readonly criterion: PassCriterion; readonly language: Language; readonly value: string; readonly onValue: (value: string) => void }) {
  const { lower, upper, unit } = criterion
  const limits = jobText(language, lower === undefined ? 'below' : upper === undefined ? 'above' : 'between', { lower: lower ?? '', upper: upper ?? '' })
  return <Input name={criterion.value} label={`${jobText(language, `value.${criterion.value}` as JobWord)}, ${unit} (${limits})`} type="number" value={value} onValue={onValue} />
}

function Input({ name, label, type, value, onValue }: { readonly name: string; readonly label: string; readonly type: 'number' | 'text'; readonly value: string; readonly onValue: (value: string) => void }) {
  return (
    <label class="field">
      {label}
      <input name={name} type={type} {...(type === 'number' ? { step: 'any' } : { maxLength: 200 })} value={value} onInput={(event) => onValue(event.currentTarget.value)} />
    </label>
  )
}
