import type { ComponentChildren } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import { api, replyPath } from './api-client.js'
import type { SuggestionView } from './api-types.js'
import { jobText } from './job-words.js'
import { onOutbox, takeBack, waitingFor } from './outbox.js'
import { useAnswer } from './page-state.js'
import { timeOfField } from './plant-time.js'
import { text, type Language } from './texts.js'

type Step = 'choose' | 'take' | 'put-off' | 'decline' | 'done'

interface ReplyFormProps {
  readonly suggestion: SuggestionView
  /** Of the plant: what is typed as a time is meant in it. */
  readonly timeZone: string
  readonly language: Language
  /** The cautions in full where the card does not show them now: they are read before the suggestion is taken. */
  readonly cautions: ComponentChildren
  readonly onAnswered: () => void
}

/** Take, put off, decline, done: an answer is sent once, and what the service says to it is shown. */
export function ReplyForm({ suggestion, timeZone, language, cautions, onAnswered }: ReplyFormProps) {
  const [step, setStep] = useState<Step>('choose')
  const [failure, setFailure] = useState('')
  const [sending, setSending] = useState(false)
  const say = (key: string): string => text(language, key)
  const waiting = useWaitingReply(suggestion.id)

  const send = async (reply: Readonly<Record<string, unknown>>): Promise<void> => {
    setSending(true)
    setFailure('')
    try {
      await api.reply(suggestion.id, reply)
      setStep('choose')
      onAnswered()
    } catch (error) {
      setFailure(`${say('reply.failed')}: ${error instanceof Error ? error.message : String(error)}`)
    } finally {
      setSending(false)
    }
  }

  const open = suggestion.status === 'open' || suggestion.status === 'put-off'
  const taken = suggestion.status === 'taken'
  if (!open && !taken) return null
  if (waiting !== undefined) {
    return (
      <div class="reply waiting" role="status">
        <b>{say(`reply.${String(waiting['action'])}`)}</b>: {say('reply.waits')}{' '}
        <button type="button" onClick={() => takeBack(String(waiting['id']))}>
          {say('reply.take-back')}
        </button>
      </div>
    )
  }
  return (
    <div class="reply">
      {step === 'choose' && (
        <p class="actions">
          {open && (
            <button type="button" class="main" disabled={sending} onClick={() => (cautions === undefined ? void send({ action: 'take' }) : setStep('take'))}>
              {say('reply.take')}
            </button>
          )}
          {taken && (
            <button type="button" class="main" disabled={sending} onClick={() => setStep('done')}>
              {say('reply.done')}
            </button>
          )}
          <button type="button" disabled={sending} onClick={() => setStep('put-off')}>
            {say('reply.put-off')}
          </button>
          <button type="button" disabled={sending} onClick={() => setStep('decline')}>
            {say('reply.decline')}
          </button>
        </p>
      )}
      {step === 'take' && (
        <fieldset class="cautions">
          <legend>{say('reply.read-first')}</legend>
          {cautions}
          <p class="actions">
            <button type="button" class="main" disabled={sending} onClick={() => void send({ action: 'take' })}>
              {say('reply.read-and-take')}
            </button>
            <button type="button" onClick={() => setStep('choose')}>
              {say('reply.back')}
            </button>
          </p>
        </fieldset>
      )}
      {step === 'put-off' && <ReasonForm kind="putOff" timeZone={timeZone} language={language} sending={sending} onBack={() => setStep('choose')} onSend={(reason, until, engineer) => void send({ action: 'put-off', reason, until, ...(engineer === '' ? {} : { engineer }) })} />}
      {step === 'decline' && <ReasonForm kind="decline" timeZone={timeZone} language={language} sending={sending} onBack={() => setStep('choose')} onSend={(reason) => void send({ action: 'decline', reason })} />}
      {step === 'done' && (
        <fieldset>
          <legend>{say('reply.found')}</legend>
          <p class="actions">
            {(['confirmed', 'something-else', 'nothing-found'] as const).map((found) => (
              <button key={found} type="button" disabled={sending} onClick={() => void send({ action: 'done', found })}>
                {say(`reply.${found}`)}
              </button>
            ))}
            <button type="button" onClick={() => setStep('choose')}>
              {say('reply.back')}
            </button>
          </p>
        </fieldset>
      )}
      {failure !== '' && (
        <p class="act" role="alert">
          {failure}
        </p>
      )}
    </div>
  )
}

/** The last reply to a suggestion that is kept on this device and not sent yet. */
function useWaitingReply(suggestion: string): Readonly<Record<string, unknown>> | undefined {
  const path = replyPath(suggestion)
  const [waiting, setWaiting] = useState(() => waitingFor(path).at(-1))
  useEffect(() => onOutbox(() => setWaiting(waitingFor(path).at(-1))), [path])
  return waiting
}

interface ReasonFormProps {
  readonly kind: 'putOff' | 'decline'
  readonly timeZone: string
  readonly language: Language
  readonly sending: boolean
  readonly onBack: () => void
  readonly onSend: (reason: string, until: string, engineer: string) => void
}

function ReasonForm({ kind, timeZone, language, sending, onBack, onSend }: ReasonFormProps) {
  const { answer: reasons } = useAnswer(() => api.reasons(language), [language])
  const [reason, setReason] = useState('')
  const [until, setUntil] = useState('')
  const [engineer, setEngineer] = useState('')
  const choices = reasons?.[kind] ?? []
  const ready = reason !== '' && (kind === 'decline' || until !== '')
  return (
    <fieldset>
      <legend>{text(language, 'reply.reason')}</legend>
      {choices.map((choice) => (
        <label key={choice.id} class="choice">
          <input type="radio" name={`reason-${kind}`} value={choice.id} checked={reason === choice.id} onChange={() => setReason(choice.id)} /> {choice.title}
        </label>
      ))}
      {kind === 'putOff' && (
        <label>
          {text(language, 'reply.until')} <input type="datetime-local" value={until} onInput={(event) => setUntil(event.currentTarget.value)} />
        </label>
      )}
      {kind === 'putOff' && (
        <label class="field">
          {jobText(language, 'engineer-late')} <input type="text" name="engineer" maxLength={80} value={engineer} onInput={(event) => setEngineer(event.currentTarget.value)} />
        </label>
      )}
      <p class="actions">
        <button type="button" class="main" disabled={!ready || sending} onClick={() => onSend(reason, until === '' ? '' : timeOfField(until, timeZone), engineer.trim())}>
          {text(language, 'reply.send')}
        </button>
        <button type="button" onClick={onBack}>
          {text(language, 'reply.back')}
        </button>
      </p>
    </fieldset>
  )
}
