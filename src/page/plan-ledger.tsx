import { useState } from 'preact/hooks'
import { timeText } from './format.js'
import { planApi, type LedgerStop } from './plan-client.js'
import { failureText } from './plan-failure.js'
import { planText } from './plan-texts.js'
import type { Language } from './texts.js'

/** Stops asked for, the answer, and what followed: noted by people, kept for the next time a stop is asked for. */
export function PlanLedger({ stops, timeZone, language, onNoted }: { readonly stops: readonly LedgerStop[]; readonly timeZone: string; readonly language: Language; readonly onNoted: () => void }) {
  return (
    <section aria-labelledby="ledger-title">
      <h3 id="ledger-title">{planText(language, 'ledger')}</h3>
      {stops.length === 0 && <p class="empty">{planText(language, 'ledger-none')}</p>}
      <ul class="plain">
        {stops.map((stop) => (
          <LedgerItem key={`${stop.line} ${stop.id}`} stop={stop} timeZone={timeZone} language={language} onNoted={onNoted} />
        ))}
      </ul>
      {stops.length > 0 && (
        <a class="button" href={planApi.ledgerCsvUrl(language)} download>
          {planText(language, 'csv')}
        </a>
      )}
    </section>
  )
}

type Form = 'none' | 'refuse' | 'followed'

function LedgerItem({ stop, timeZone, language, onNoted }: { readonly stop: LedgerStop; readonly timeZone: string; readonly language: Language; readonly onNoted: () => void }) {
  const [form, setForm] = useState<Form>('none')
  const [refusal, setRefusal] = useState('')
  const enter = (entry: object): void => {
    planApi.enter(stop.line, { type: 'stop', stop: stop.id, ...entry }, language).then(
      () => {
        setForm('none')
        setRefusal('')
        onNoted()
      },
      (error: unknown) => setRefusal(failureText(error)),
    )
  }
  return (
    <li class="card" data-ledger={stop.id}>
      <p>
        <strong>{timeText(stop.asked, language, timeZone)}</strong> · {stop.title} · {stop.work.join(', ')}
        {stop.minutes !== undefined && ` · ${stop.minutes} min`}
      </p>
      <p>
        {stop.answer}
        {stop.followedCount > 0 && <span class="soft"> · {stop.followed}</span>}
      </p>
      {form === 'none' && (
        <p class="actions">
          {stop.status === 'asked' && (
            <button type="button" onClick={() => enter({ action: 'grant' })}>
              {planText(language, 'granted')}
            </button>
          )}
          {stop.status === 'asked' && (
            <button type="button" onClick={() => setForm('refuse')}>
              {planText(language, 'refused')}
            </button>
          )}
          <button type="button" onClick={() => setForm('followed')}>
            {planText(language, 'followed')}
          </button>
        </p>
      )}
      {form === 'refuse' && <RefuseForm language={language} onSend={(reason) => enter({ action: 'refuse', reason })} onBack={() => setForm('none')} />}
      {form === 'followed' && <FollowedForm language={language} onSend={(followed) => enter({ action: 'followed', followed })} onBack={() => setForm('none')} />}
      {refusal !== '' && (
        <p class="act" role="alert">
          {planText(language, 'failed')}: {refusal}
        </p>
      )}
    </li>
  )
}

function RefuseForm({ language, onSend, onBack }: { readonly language: Language; readonly onSend: (reason: string) => void; readonly onBack: () => void }) {
  const [reason, setReason] = useState('')
  return (
    <form onSubmit={(event) => (event.preventDefault(), onSend(reason))}>
      <label class="field wide">
        {planText(language, 'refused-why')}
        <input type="text" required maxLength={500} value={reason} onInput={(event) => setReason(event.currentTarget.value)} />
      </label>
      <FormButtons language={language} onBack={onBack} />
    </form>
  )
}

function FollowedForm({ language, onSend, onBack }: { readonly language: Language; readonly onSend: (followed: object) => void; readonly onBack: () => void }) {
  const [kind, setKind] = useState('unplanned')
  const [values, setValues] = useState<Readonly<Record<string, string>>>({})
  const [words, setWords] = useState('')
  const fields = ['stopMinutes', 'boardsScrapped', 'ordersLate', 'secondaryDamage'] as const
  const labels = { stopMinutes: 'followed-minutes', boardsScrapped: 'followed-scrap', ordersLate: 'followed-late', secondaryDamage: 'followed-damage' } as const
  const send = (event: Event): void => {
    event.preventDefault()
    const numbers = Object.fromEntries(fields.flatMap((field) => ((values[field] ?? '') === '' ? [] : [[field, Number(values[field])]])))
    onSend({ ...(numbers['stopMinutes'] === undefined ? {} : { stopKind: kind }), ...numbers, ...(words.trim() === '' ? {} : { text: words }) })
  }
  return (
    <form onSubmit={send}>
      <div class="field-line">
        <label class="field">
          {planText(language, 'followed-kind')}
          <select value={kind} onChange={(event) => setKind(event.currentTarget.value)}>
            <option value="unplanned">{planText(language, 'unplanned')}</option>
            <option value="planned">{planText(language, 'planned')}</option>
          </select>
        </label>
        {fields.map((field) => (
          <label key={field} class="field">
            {planText(language, labels[field], { currency: '¤' })}
            <input type="number" min="0" step={field === 'boardsScrapped' || field === 'ordersLate' ? '1' : 'any'} value={values[field] ?? ''} onInput={(event) => setValues({ ...values, [field]: event.currentTarget.value })} />
          </label>
        ))}
        <label class="field wide">
          {planText(language, 'followed-text')}
          <input type="text" maxLength={500} value={words} onInput={(event) => setWords(event.currentTarget.value)} />
        </label>
      </div>
      <FormButtons language={language} onBack={onBack} />
    </form>
  )
}

export function FormButtons({ language, onBack }: { readonly language: Language; readonly onBack: () => void }) {
  return (
    <p class="actions">
      <button type="submit" class="main">
        {planText(language, 'save')}
      </button>
      <button type="button" onClick={onBack}>
        {planText(language, 'back')}
      </button>
    </p>
  )
}
