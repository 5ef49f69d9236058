/** Entries made while the service could not be reached: kept on this device and sent later, each with its own id, so that nothing is doubled. */

const KEY = 'wave-solder-outbox'
const KEPT_MAX = 500
const TRY_EVERY_MS = 5000

interface Waiting {
  readonly path: string
  readonly body: Readonly<Record<string, unknown>>
}

/** Why an entry was given up: the service heard it and said no. */
export interface GivenUp {
  readonly path: string
  readonly why: string
}

type Listener = (waiting: number, givenUp: readonly GivenUp[]) => void

/** What can wait: the service knows these by their id and takes each once. */
const CAN_WAIT = /^lines\/[^/]+\/(entries|records)(\?.*)?$/

const listeners = new Set<Listener>()
let givenUp: readonly GivenUp[] = []
let sending = false

/** Whether an entry may be sent later. */
export function canWait(path: string): boolean {
  return CAN_WAIT.test(path)
}

/** An entry with an id and the time it was made, so that sending it again or late changes nothing. */
export function marked(body: unknown): Readonly<Record<string, unknown>> {
  const entry = body as Readonly<Record<string, unknown>>
  return { id: newId(), ...entry }
}

/** `crypto.randomUUID` exists only where the page came over TLS or from this computer. */
function newId(): string {
  return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, '0')).join('')
}

/** Keeps an entry until the service can be reached; its time is now, not that of sending. */
export function keep(path: string, body: Readonly<Record<string, unknown>>): void {
  const timed = 'time' in body ? body : { ...body, time: new Date().toISOString() }
  write([...read(), { path, body: timed }].slice(-KEPT_MAX))
}

/** Follows how many wait on this device. */
export function onOutbox(listener: Listener): () => void {
  listeners.add(listener)
  listener(read().length, givenUp)
  return () => listeners.delete(listener)
}

export function forgetGivenUp(): void {
  givenUp = []
  tell()
}

/** Sends what waits, oldest first, until the service cannot be reached again. */
export async function sendWaiting(send: (path: string, body: unknown) => Promise<Response>): Promise<void> {
  if (sending || read().length === 0) return
  sending = true
  try {
    for (let next = read()[0]; next !== undefined; next = read()[0]) {
      const response = await send(next.path, next.body)
      // A server in trouble is asked again; one that says no is not.
      if (response.status >= 500 || response.status === 401 || response.status === 429) break
      if (!response.ok) givenUp = [...givenUp, { path: next.path, why: await detailOf(response) }]
      write(read().slice(1))
    }
  } catch {
    // Still out of reach; it stays where it is.
  } finally {
    sending = false
  }
}

/** Tries again every few seconds and whenever the network comes back. */
export function keepSending(send: (path: string, body: unknown) => Promise<Response>): () => void {
  const go = (): void => void sendWaiting(send)
  const timer = setInterval(go, TRY_EVERY_MS)
  addEventListener('online', go)
  go()
  return () => {
    clearInterval(timer)
    removeEventListener('online', go)
  }
}

async function detailOf(response: Response): Promise<string> {
  try {
    return ((await response.json()) as { detail?: string }).detail ?? `HTTP ${response.status}`
  } catch {
    return `HTTP ${response.status}`
  }
}

function read(): readonly Waiting[] {
  try {
    const kept: unknown = JSON.parse(localStorage.getItem(KEY) ?? '[]')
    return Array.isArray(kept) ? (kept as Waiting[]) : []
  } catch {
    return []
  }
}

function write(waiting: readonly Waiting[]): void {
  localStorage.setItem(KEY, JSON.stringify(waiting))
  tell()
}

function tell(): void {
  for (const listener of listeners) listener(read().length, givenUp)
}
