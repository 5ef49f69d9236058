import { useState } from 'preact/hooks'
import { holdText } from './hold-texts.js'
import { timeOfField } from './plant-time.js'
import { rounds } from './round-client.js'
import type { Language } from './texts.js'

/** An engineer ends the hold for a time, or exempts an approved recipe: a reason and an end belong to both. */
export function HoldEngineerForm({ line, timeZone, language, onSent }: { readonly line: string; readonly timeZone: string; readonly language: Language; readonly onSent: () => void }) {
  const [action, setAction] = useState<'end-early' | 'exempt'>('end-early')
  const [reason, setReason] = useState('')
  const [until, setUntil] = useState('')
  const [by, setBy] = useState('')
  const [failure, setFailure] = useState('')
  const say = (key: Parameters<typeof holdText>[1]): string => holdText(language, key)
  const send = async (): Promise<void> => {
    try {
      await rounds.enter(line, language, { type: 'hold', action, reason: reason.trim(), until: timeOfField(until, timeZone), ...(by.trim() === '' ? {} : { by: by.trim() }) })
      setFailure('')
      onSent()
    } catch (error) {
      setFailure(`${say('not-taken')}: ${error instanceof Error ? error.message : String(error)}`)
    }
  }
  return (
    <details class="no-print">
      <summary>{say('engineer')}</summary>
      <fieldset>
        {(['end-early', 'exempt'] as const).map((choice) => (
          <label key={choice} class="choice">
            <input type="radio" name="hold-action" checked={action === choice} onChange={() => setAction(choice)} /> {say(choice === 'exempt' ? 'exempt' : 'end')}
          </label>
        ))}
        <div class="field-line">
          <label class="field wide">
            {say('why')}
            <input type="text" maxLength={2000} value={reason} onInput={(event) => setReason(event.currentTarget.value)} />
          </label>
          <label class="field">
            {say('until')}
            <input type="datetime-local" value={until} onInput={(event) => setUntil(event.currentTarget.value)} />
          </label>
          <label class="field">
            {say('by')}
            <input type="text" maxLength={80} value={by} onInput={(event) => setBy(event.currentTarget.value)} />
          </label>
        </div>
        <p class="actions">
          <button type="button" disabled={reason.trim() === '' || until === ''} onClick={() => void send()}>
            {say('send')}
          </button>
        </p>
        {failure !== '' && (
          <p class="act" role="alert">
            {failure}
          </p>
        )}
      </fieldset>
    </details>
  )
}
