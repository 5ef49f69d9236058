import { numberText } from './format.js'
import type { RoundCheckView, RoundValueView } from './round-client.js'
import { fieldState, type CheckDraft } from './round-draft.js'
import { roundText } from './round-texts.js'
import type { Language } from './texts.js'

interface CheckFormProps {
  readonly check: RoundCheckView
  readonly draft: CheckDraft
  readonly language: Language
  readonly onChange: (draft: CheckDraft) => void
  /** Only what is asked, for a round in which nothing else is said. */
  readonly brief?: boolean
}

/** What one check asks: values with their limits, what is seen, or that it is not in order. */
export function RoundCheckForm({ check, draft, language, onChange, brief = false }: CheckFormProps) {
  const say = (key: Parameters<typeof roundText>[1], values?: Readonly<Record<string, string | number>>): string => roundText(language, key, values)
  const name = `look-${check.check}`
  return (
    <div class="check-form">
      {check.zones > 0 && (
        <label class="field">
          {say('zone')}
          <select
            value={draft.zone ?? ''}
            onChange={(event) => {
              const { zone: _, ...rest } = draft
              onChange(event.currentTarget.value === '' ? rest : { ...rest, zone: Number(event.currentTarget.value) })
            }}
          >
            <option value="">{say('all-zones')}</option>
            {Array.from({ length: check.zones }, (_, index) => (
              <option key={index} value={index + 1}>
                {index + 1}
              </option>
            ))}
          </select>
        </label>
      )}
      {check.values.length > 0 && (
        <div class="field-line">
          {check.values.map((value) => (
            <ValueField key={value.value} check={check.check} value={value} text={draft.values[value.value] ?? ''} language={language} onText={(text) => onChange({ ...draft, values: { ...draft.values, [value.value]: text } })} />
          ))}
        </div>
      )}
      {check.looks.length > 0 && (!brief || check.asks === 'look') && (
        <fieldset class="looks">
          <legend>{say('look')}</legend>
          {check.looks.map(({ finding, text }) => (
            <label key={finding} data-finding={finding} class={`choice ${draft.finding === finding ? 'chosen' : ''}`}>
              <input type="radio" name={name} checked={draft.finding === finding} onChange={() => onChange({ ...draft, finding })} /> {text}
            </label>
          ))}
        </fieldset>
      )}
      {!brief && (
        <>
          <label class="choice">
            <input type="checkbox" checked={draft.notInOrder} onChange={(event) => onChange({ ...draft, notInOrder: event.currentTarget.checked })} /> {say('not-in-order')}
          </label>
          <label class="field wide">
            {say('remark')}
            <input type="text" maxLength={2000} value={draft.remark} onInput={(event) => onChange({ ...draft, remark: event.currentTarget.value })} />
          </label>
          <details>
            <summary>{say('steps')}</summary>
            <ol>
              {check.steps.map((step) => (
                <li key={step}>{step}</li>
              ))}
            </ol>
          </details>
          <details class="cautions">
            <summary>{say('cautions')}</summary>
            <ul>
              {check.cautions.map((caution) => (
                <li key={caution}>{caution}</li>
              ))}
            </ul>
          </details>
        </>
      )}
    </div>
  )
}

interface ValueFieldProps {
  readonly check: string
  readonly value: RoundValueView
  readonly text: string
  readonly language: Language
  readonly onText: (text: string) => void
}

function ValueField({ check, value, text, language, onText }: ValueFieldProps) {
  const state = fieldState(text, value)
  const { unit, possibleMin: min, possibleMax: max } = value
  const shownUnit = unit === 'count' ? '' : unit
  const id = `value-${check}-${value.value}`
  const isWrong = state === 'no-number' || state === 'not-possible'
  return (
    <label class="field value-field" for={id}>
      {value.title}
      <span class="value-line">
        <input id={id} type="text" inputMode="decimal" autocomplete="off" value={text} aria-describedby={`${id}-limits`} aria-invalid={isWrong} onInput={(event) => onText(event.currentTarget.value)} /> {shownUnit}
      </span>
      <span id={`${id}-limits`} class={state === 'outside' || isWrong ? 'field-fault' : ''}>
        {isWrong && roundText(language, state === 'no-number' ? 'no-number' : 'not-possible', { min: numberText(min, language), max: numberText(max, language), unit: shownUnit })}
        {state === 'outside' && roundText(language, 'outside')}
        {state === 'inside' && (value.lower !== undefined || value.upper !== undefined) && `✓ ${roundText(language, 'inside')}`}
        {(state === 'empty' || state === 'outside') && ` ${limitsText(value, language)}`}
      </span>
    </label>
  )
}

function limitsText({ lower, upper, last, recipe }: RoundValueView, language: Language): string {
  const limits = lower !== undefined && upper !== undefined ? 'act-outside' : lower !== undefined ? 'act-below' : upper !== undefined ? 'act-above' : undefined
  const shown = { lower: lower === undefined ? '' : numberText(lower, language), upper: upper === undefined ? '' : numberText(upper, language) }
  return [limits === undefined ? '' : `${roundText(language, limits, shown)}${recipe === undefined ? '' : ` (${roundText(language, 'of-recipe', { recipe })})`}`, last === undefined ? '' : roundText(language, 'last', { value: numberText(last.value, language) })].filter((text) => text !== '').join(' · ')
}
