import { useState } from 'preact/hooks'
import type { LineSummary } from './api-types.js'
import { jobs, type JobView, type PassCriterion, type WorkChoice } from './job-client.js'
import { jobText, type JobWord } from './job-words.js'
import { useAnswer } from './page-state.js'
import type { Language } from './texts.js'

const SECTIONS = ['fluxer', 'preheat', 'transport', 'pot'] as const
const FINDINGS = [0, 1, 2, 3, 4] as const

interface FormProps {
  readonly lines: readonly LineSummary[]
  readonly language: Language
  /** The job it belongs to; without it the work is chosen. */
  readonly job?: JobView
  readonly onDone: () => void
}

interface Draft {
  readonly line: string
  readonly work: string
  readonly zone: string
  readonly finding: number | undefined
  readonly minutes: string
  readonly product: string
  readonly surfaceC: string
  readonly lot: string
  readonly passes: string
  readonly washer: boolean
  readonly values: Readonly<Record<string, string>>
  readonly handCheck: '' | 'passed' | 'failed'
  readonly remark: string
  readonly photo: File | undefined
}

/** What was done, in seconds: as found, minutes, product; the rest behind one tap. */
export function RecordForm({ lines, language, job, onDone }: FormProps) {
  const [draft, setDraft] = useState<Draft>({ line: job?.line ?? lines[0]?.line ?? '', work: job?.work ?? '', zone: job?.zone === undefined ? '' : String(job.zone), finding: undefined, minutes: '', product: '', surfaceC: '', lot: '', passes: '', washer: false, values: {}, handCheck: '', remark: '', photo: undefined })
  const [said, setSaid] = useState('')
  const [waits, setWaits] = useState(false)
  const [sending, setSending] = useState(false)
  const { answer: choices } = useAnswer(() => (draft.line === '' ? Promise.resolve([]) : jobs.work(draft.line, language)), [draft.line, language])
  const say = (key: JobWord, values?: Readonly<Record<string, string | number>>): string => jobText(language, key, values)
  const set = (change: Partial<Draft>): void => setDraft({ ...draft, ...change })
  const chosen = choices?.find(({ work }) => work === draft.work)

  const send = async (): Promise<void> => {
    setSending(true)
    setSaid('')
    try {
      const photo = draft.photo === undefined ? undefined : await jobs.photo(draft.line, draft.photo)
      const answer = (await jobs.record(draft.line, recordFrom(draft, chosen!, job?.id, photo), language)) as { waits?: boolean }
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
      <h3>{job === undefined ? say('new-record') : job.title}</h3>
      {job === undefined && <WorkFields draft={draft} lines={lines} choices={choices ?? []} language={language} onDraft={set} />}
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
        {chosen !== undefined && chosen.products.length > 0 && (
          <label class="field">
            {say('product')}
            <select name="product" value={draft.product} onChange={(event) => set({ product: event.currentTarget.value })}>
              <option value="">{say('no-product')}</option>
              {chosen.products.map(({ product, title }) => (
                <option key={product} value={product}>
                  {title}
                </option>
              ))}
            </select>
          </label>
        )}
        {draft.product !== '' && chosen?.kind === 'cleaning' && <Input name="surfaceC" label={say('surface')} type="number" value={draft.surfaceC} onValue={(surfaceC) => set({ surfaceC })} />}
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
      <details>
        <summary>{say('more')}</summary>
        <div class="field-line">
          <label class="choice">
            <input type="checkbox" name="washer" checked={draft.washer} onChange={(event) => set({ washer: event.currentTarget.checked })} /> {say('washer')}
          </label>
          <Input name="passes" label={say('passes')} type="number" value={draft.passes} onValue={(passes) => set({ passes })} />
          <Input name="lot" label={say('lot')} type="text" value={draft.lot} onValue={(lot) => set({ lot })} />
          <Input name="remark" label={say('remark')} type="text" value={draft.remark} onValue={(remark) => set({ remark })} />
          <label class="field">
            {say('photo')}
            <input type="file" name="photo" accept="image/jpeg,image/png,image/webp" onChange={(event) => set({ photo: event.currentTarget.files?.[0] })} />
          </label>
        </div>
      </details>
      <p class="actions">
        <button type="submit" class="main wide-button" disabled={chosen === undefined || sending}>
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

function WorkFields({ draft, lines, choices, language, onDraft }: { readonly draft: Draft; readonly lines: readonly LineSummary[]; readonly choices: readonly WorkChoice[]; readonly language: Language; readonly onDraft: (change: Partial<Draft>) => void }) {
  const section = choices.find(({ work }) => work === draft.work)?.section
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
        <select name="work" value={draft.work} onChange={(event) => onDraft({ work: event.currentTarget.value, product: '', values: {} })}>
          <option value="">–</option>
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

function recordFrom(draft: Draft, chosen: WorkChoice, job: string | undefined, photo: unknown): Record<string, unknown> {
  const number = (name: string, text: string): Record<string, number> => (text.trim() === '' ? {} : { [name]: Number(text) })
  const text = (name: string, value: string): Record<string, string> => (value.trim() === '' ? {} : { [name]: value.trim() })
  const values = Object.fromEntries(Object.entries(draft.values).filter(([, value]) => value.trim() !== '').map(([name, value]) => [name, Number(value)]))
  const by = localStorage.getItem('wave-solder-name') ?? ''
  return {
    section: chosen.section,
    work: chosen.work,
    ...number('zone', chosen.section === 'preheat' ? draft.zone : ''),
    ...(draft.finding === undefined ? {} : { finding: draft.finding }),
    ...number('minutes', draft.minutes),
    ...text('product', draft.product),
    ...number('surfaceC', draft.surfaceC),
    ...text('lot', draft.lot),
    ...number('passes', draft.passes),
    ...(draft.washer ? { washer: true } : {}),
    ...(Object.keys(values).length === 0 ? {} : { values }),
    ...(draft.handCheck === '' ? {} : { handCheck: draft.handCheck }),
    ...text('remark', draft.remark),
    ...text('by', by),
    ...(job === undefined ? {} : { job }),
    ...(photo === undefined ? {} : { photo }),
  }
}
