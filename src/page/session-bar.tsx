import { useEffect, useState } from 'preact/hooks'
import { ask, ApiError, postRaw } from './api-client.js'
import { forgetGivenUp, keepSending, onOutbox, type GivenUp } from './outbox.js'
import { textsOf, type Language } from './texts.js'

interface Session {
  readonly required: boolean
  readonly role: 'wall' | 'technician' | 'engineer'
  readonly name?: string
  readonly language?: string
}

const say = textsOf(
  {
    'sign-in': 'Sign in',
    'sign-out': 'Sign out',
    pin: 'PIN or badge',
    wrong: 'Nobody here has this PIN',
    waiting: '{n} entries wait on this device and are sent when the service answers.',
    'waiting-one': '1 entry waits on this device and is sent when the service answers.',
    'given-up': 'The service did not take an entry of this device: {why}',
    understood: 'Understood',
    back: 'Back',
  },
  {
    'sign-in': 'Identificarse',
    'sign-out': 'Salir',
    pin: 'PIN o tarjeta',
    wrong: 'Nadie aquí tiene este PIN',
    waiting: '{n} entradas esperan en este aparato y se envían cuando el servicio responda.',
    'waiting-one': '1 entrada espera en este aparato y se envía cuando el servicio responda.',
    'given-up': 'El servicio no tomó una entrada de este aparato: {why}',
    understood: 'Entendido',
    back: 'Volver',
  },
)

interface SessionButtonProps {
  readonly language: Language
  /** The language of the person who has signed in. */
  readonly onLanguage: (language: Language) => void
}

/** Who works here: one field for PIN or badge reader; a badge reader types and sends Enter by itself. */
export function SessionButton({ language, onLanguage }: SessionButtonProps) {
  const [session, setSession] = useState<Session>()
  const [asking, setAsking] = useState(false)
  const [failure, setFailure] = useState('')
  useEffect(() => {
    ask<Session>('session').then(setSession, () => undefined)
  }, [])
  if (session === undefined || !session.required) return null
  const signIn = async (pin: string): Promise<void> => {
    try {
      const signed = await ask<Session>('session', { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ pin }) })
      setSession(signed)
      setAsking(false)
      setFailure('')
      if (signed.language === 'en-US' || signed.language === 'es') onLanguage(signed.language)
    } catch (error) {
      setFailure(error instanceof ApiError && error.status === 401 ? say(language, 'wrong') : error instanceof Error ? error.message : String(error))
    }
  }
  if (session.name !== undefined) {
    return (
      <button type="button" onClick={() => void ask<Session>('session', { method: 'DELETE' }).then(setSession)}>
        {session.name} · {say(language, 'sign-out')}
      </button>
    )
  }
  if (!asking) {
    return (
      <button type="button" class="main" onClick={() => setAsking(true)}>
        {say(language, 'sign-in')}
      </button>
    )
  }
  return (
    <form
      class="actions"
      onSubmit={(event) => {
        event.preventDefault()
        const field = event.currentTarget.elements.namedItem('pin')
        if (field instanceof HTMLInputElement) void signIn(field.value)
      }}
    >
      <label>
        {say(language, 'pin')} <input name="pin" type="password" inputMode="numeric" autoComplete="off" autoFocus size={10} required />
      </label>
      <button type="submit" class="main">
        {say(language, 'sign-in')}
      </button>
      <button type="button" onClick={() => setAsking(false)}>
        {say(language, 'back')}
      </button>
      {failure !== '' && <span role="alert">{failure}</span>}
    </form>
  )
}

/** What waits on this device, and what the service did not take of it. */
export function OutboxNotice({ language }: { readonly language: Language }) {
  const [waiting, setWaiting] = useState(0)
  const [givenUp, setGivenUp] = useState<readonly GivenUp[]>([])
  useEffect(
    () =>
      onOutbox((count, refused) => {
        setWaiting(count)
        setGivenUp(refused)
      }),
    [],
  )
  useEffect(() => keepSending(postRaw), [])
  return (
    <>
      {waiting > 0 && (
        <p class="waiting" role="status">
          {waiting === 1 ? say(language, 'waiting-one') : say(language, 'waiting', { n: waiting })}
        </p>
      )}
      {givenUp.map(({ why }, index) => (
        <p key={index} class="act" role="alert">
          {say(language, 'given-up', { why })}{' '}
          <button type="button" onClick={forgetGivenUp}>
            {say(language, 'understood')}
          </button>
        </p>
      ))}
    </>
  )
}
