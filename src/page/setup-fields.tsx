import { faultsAt, valueAt, withValue, type Draft, type Fault } from './setup-draft.js'
import { choiceText, type Choice } from './setup-texts.js'
import type { Language } from './texts.js'

export interface FieldContext {
  readonly draft: Draft
  readonly faults: readonly Fault[]
  readonly language: Language
  readonly onChange: (draft: Draft) => void
}

interface FieldProps {
  readonly at: FieldContext
  readonly path: string
  readonly label: string
}

function Faults({ at, path }: { readonly at: FieldContext; readonly path: string }) {
  return (
    <>
      {faultsAt(at.faults, path).map(({ message }) => (
        <span key={message} class="field-fault" id={`fault-${path}`}>
          {message}
        </span>
      ))}
    </>
  )
}

export function TextField({ at, path, label, hint }: FieldProps & { readonly hint?: string }) {
  const value = valueAt(at.draft, path)
  const faulty = faultsAt(at.faults, path).length > 0
  return (
    <label class="field">
      {label}
      <input type="text" value={typeof value === 'string' ? value : ''} aria-invalid={faulty} {...(faulty ? { 'aria-describedby': `fault-${path}` } : {})} onInput={(event) => at.onChange(withValue(at.draft, path, event.currentTarget.value === '' ? undefined : event.currentTarget.value))} />
      {hint !== undefined && <span class="soft">{hint}</span>}
      <Faults at={at} path={path} />
    </label>
  )
}

export function NumberField({ at, path, label }: FieldProps) {
  const value = valueAt(at.draft, path)
  const faulty = faultsAt(at.faults, path).length > 0
  return (
    <label class="field">
      {label}
      <input
        type="number"
        step="any"
        value={typeof value === 'number' ? value : ''}
        aria-invalid={faulty}
        {...(faulty ? { 'aria-describedby': `fault-${path}` } : {})}
        onInput={(event) => at.onChange(withValue(at.draft, path, event.currentTarget.value === '' ? undefined : Number(event.currentTarget.value)))}
      />
      <Faults at={at} path={path} />
    </label>
  )
}

export function ChoiceField({ at, path, label, choices }: FieldProps & { readonly choices: readonly Choice[] }) {
  const value = valueAt(at.draft, path)
  return (
    <label class="field">
      {label}
      <select value={typeof value === 'string' ? value : choices[0]!} onChange={(event) => at.onChange(withValue(at.draft, path, event.currentTarget.value))}>
        {choices.map((choice) => (
          <option key={choice} value={choice}>
            {choiceText(at.language, choice)}
          </option>
        ))}
      </select>
      <Faults at={at} path={path} />
    </label>
  )
}
