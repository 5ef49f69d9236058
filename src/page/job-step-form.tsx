import { useState } from 'preact/hooks'
import { jobs, type JobView } from './job-client.js'
import { jobText, type JobWord } from './job-words.js'
import { useAnswer } from './page-state.js'
import { timeOfField } from './plant-time.js'
import type { Language } from './texts.js'

const NAME_KEY = 'wave-solder-name'

/** What must be said with a step before it is sent. */
const ASKS: Readonly<Record<string, readonly Field[]>> = {
  take: ['by', 'people'],
  start: ['product', 'dismantled'],
  isolate: ['by'],
  'release-isolation': ['by'],
  pause: ['dismantled'],
  'wait-for-part': ['part', 'dismantled'],
  'hand-over': ['by', 'dismantled'],
  'put-off': ['reason', 'until', 'engineer'],
  drop: ['reason', 'engineer'],
}

/** Who goes on with work that was handed over is not known yet. */
function asksOf(action: string, job: JobView): readonly Field[] | undefined {
  return action === 'resume' && job.by === undefined ? ['by'] : ASKS[action]
}

type Field = 'by' | 'people' | 'product' | 'dismantled' | 'part' | 'reason' | 'until' | 'engineer' | 'surfaceC'

const LABELS: Readonly<Record<Field, JobWord>> = { by: 'your-name', people: 'how-many', product: 'product', dismantled: 'what-apart', part: 'what-part', reason: 'reason', until: 'until', engineer: 'engineer', surfaceC: 'surface' }

interface StepProps {
  readonly job: JobView
  readonly timeZone: string
  readonly language: Language
  readonly onActed: () => void
}

/** The steps a person can take with a job now, and those before the line may run again. */
export function JobStepForm({ job, timeZone, language, onActed }: StepProps) {
  const [action, setAction] = useState<string | undefined>(undefined)
  const [failure, setFailure] = useState('')
  const [sending, setSending] = useState(false)
  const send = async (entry: Readonly<Record<string, unknown>>): Promise<void> => {
    setSending(true)
    setFailure('')
    try {
      const answer = (await jobs.step(job.line, { job: job.id, ...entry }, language)) as { waits?: boolean }
      if (answer.waits === true) setFailure(jobText(language, 'waits'))
      setAction(undefined)
      onActed()
    } catch (error) {
      setFailure(`${jobText(language, 'refused')}: ${error instanceof Error ? error.message : String(error)}`)
    } finally {
      setSending(false)
    }
  }
  const buttons = job.actions.filter((name) => name !== 'return-step')
  return (
    <div class="reply">
      {job.begun && job.actions.includes('return-step') && (
        <section>
          <h4>{jobText(language, 'after')}</h4>
          <ul class="checks return-steps">
            {job.after.map(({ step, text, done }) => (
              <li key={step} class={`check ${done ? 'is-done' : ''}`}>
                <div class="check-head">
                  <span>
                    {done ? <span class="done">✓ </span> : <i class="open-box" />} {text}
                  </span>
                  {!done && !(['isolation-removed-by-owner', 'empty-run'].includes(step) && job.holders.length > 0) && (
                    <button type="button" disabled={sending} data-step={step} onClick={() => void send({ action: 'return-step', step })}>
                      {jobText(language, 'act.return-step')}
                    </button>
                  )}
                </div>
              </li>
            ))}
          </ul>
        </section>
      )}
      {action === undefined ? (
        <p class="actions">
          {buttons.map((name, index) => (
            <button key={name} type="button" class={index === 0 ? 'main' : ''} disabled={sending} data-action={name} onClick={() => (asksOf(name, job) === undefined ? void send({ action: name }) : setAction(name))}>
              {jobText(language, `act.${name}` as JobWord)}
            </button>
          ))}
        </p>
      ) : (
        <Fields key={action} action={action} job={job} timeZone={timeZone} language={language} sending={sending} onSend={(entry) => void send({ action, ...entry })} onBack={() => setAction(undefined)} />
      )}
      {failure !== '' && (
        <p class="act" role="alert">
          {failure}
        </p>
      )}
    </div>
  )
}

interface FieldsProps {
  readonly action: string
  readonly job: JobView
  readonly timeZone: string
  readonly language: Language
  readonly sending: boolean
  readonly onSend: (entry: Readonly<Record<string, unknown>>) => void
  readonly onBack: () => void
}

function Fields({ action, job, timeZone, language, sending, onSend, onBack }: FieldsProps) {
  const [values, setValues] = useState<Partial<Record<Field, string>>>({ by: localStorage.getItem(NAME_KEY) ?? '', people: String(job.peopleNeeded) })
  const set = (field: Field, value: string): void => setValues({ ...values, [field]: value })
  const asked = (asksOf(action, job) ?? []).filter((field) => (field !== 'engineer' || job.safety) && (field !== 'product' || job.products.length > 0))
  // A cleaner asks for the hottest surface, measured by hand; no reading of a zone stands in for it.
  const fields: readonly Field[] = values.product !== undefined && values.product !== '' ? [...asked, 'surfaceC'] : asked
  const ready = fields.every((field) => field === 'engineer' || field === 'dismantled' || field === 'product' || field === 'surfaceC' || field === 'by' || (values[field] ?? '') !== '') && !(['isolate', 'release-isolation'].includes(action) && (values.by ?? '') === '')
  const entry = (): Record<string, unknown> => {
    if (fields.includes('by')) localStorage.setItem(NAME_KEY, values.by ?? '')
    return Object.fromEntries(
      fields.flatMap((field): (readonly [string, string | number])[] => {
        const value = values[field]?.trim() ?? ''
        if (value === '') return []
        if (field === 'people' || field === 'surfaceC') return [[field, Number(value)]]
        return [[field, field === 'until' ? timeOfField(value, timeZone) : value]]
      }),
    )
  }
  return (
    <fieldset data-asks={action}>
      <legend>{jobText(language, `act.${action}` as JobWord)}</legend>
      <div class="field-line">
        {fields.map((field) => (
          <FieldInput key={field} field={field} action={action} job={job} language={language} value={values[field] ?? ''} onValue={(value) => set(field, value)} />
        ))}
      </div>
      <p class="actions">
        <button type="button" class="main" disabled={!ready || sending} onClick={() => onSend(entry())}>
          {jobText(language, 'send')}
        </button>
        <button type="button" onClick={onBack}>
          {jobText(language, 'back')}
        </button>
      </p>
    </fieldset>
  )
}

interface InputProps {
  readonly field: Field
  readonly action: string
  readonly job: JobView
  readonly language: Language
  readonly value: string
  readonly onValue: (value: string) => void
}

function FieldInput({ field, action, job, language, value, onValue }: InputProps) {
  if (field === 'reason') return <ReasonSelect action={action} language={language} value={value} onValue={onValue} />
  return (
    <label class="field">
      {jobText(language, LABELS[field])}
      {field === 'product' ? (
        <select name={field} value={value} onChange={(event) => onValue(event.currentTarget.value)}>
          <option value="">{jobText(language, 'no-product')}</option>
          {job.products.map(({ product, title }) => (
            <option key={product} value={product}>
              {title}
            </option>
          ))}
        </select>
      ) : (
        <input name={field} type={field === 'until' ? 'datetime-local' : field === 'people' || field === 'surfaceC' ? 'number' : 'text'} {...(field === 'people' ? { min: 1, max: 50 } : {})} maxLength={80} value={value} onInput={(event) => onValue(event.currentTarget.value)} />
      )}
    </label>
  )
}

function ReasonSelect({ action, language, value, onValue }: { readonly action: string; readonly language: Language; readonly value: string; readonly onValue: (value: string) => void }) {
  const { answer } = useAnswer(() => jobs.reasons(language), [language])
  const choices = action === 'drop' ? answer?.drop : answer?.putOff
  return (
    <fieldset class="looks">
      <legend>{jobText(language, 'reason')}</legend>
      {(choices ?? []).map(({ id, title }) => (
        <label key={id} class={`choice ${value === id ? 'chosen' : ''}`}>
          <input type="radio" name={`job-reason-${action}`} checked={value === id} onChange={() => onValue(id)} /> {title}
        </label>
      ))}
    </fieldset>
  )
}
