/** What was entered while the service could not be reached: kept on this device and sent later, each with its own id, so that nothing is doubled. */
import { shelve, shelved, unshelve } from './photo-shelf.js'

const KEY = 'wave-solder-outbox'
const KEPT_MAX = 500
const TRY_EVERY_MS = 5000
/** A service that has just started does not know all its lines yet; later than this, what it does not know is gone. */
const UNKNOWN_MS_MAX = 10 * 60_000

type Body = Readonly<Record<string, unknown>>

interface Waiting {
  readonly path: string
  readonly body: Body
  /** Since when the service has not known what the entry is about, ms UTC. */
  readonly unknownSinceMs?: number
}

/** Why something was given up: the service heard it and said no, or its photo is lost. */
export interface GivenUp {
  readonly path: string
  readonly why: string
}

/** How it is sent: JSON, or the bytes of a photo. */
export type Send = (path: string, body: unknown) => Promise<Response>

type Listener = (waiting: number, givenUp: readonly GivenUp[]) => void

/** What can wait: the service knows these by their id and takes each once. */
const CAN_WAIT = /^(lines\/[^/]+\/(entries|records)|suggestions\/[^/]+\/replies)(\?.*)?$/
/** Entries tell when they were made; a reply counts from when it is heard. */
const HAS_TIME = /^lines\//

const listeners = new Set<Listener>()
let givenUp: readonly GivenUp[] = []
let sending = false

/** Whether an entry may be sent later. */
export function canWait(path: string): boolean {
  return CAN_WAIT.test(path)
}

/** An entry with an id, so that sending it again or late changes nothing. */
export function marked(body: unknown): Body {
  const entry = body as Body
  return { id: newId(), ...entry }
}

/** `crypto.randomUUID` exists only where the page came over TLS or from this computer. */
function newId(): string {
  return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, '0')).join('')
}

/** Keeps an entry until the service can be reached; its time is now, not that of sending. @throws Error where no more can be kept */
export function keep(path: string, body: Body): void {
  const timed = !HAS_TIME.test(path) || 'time' in body ? body : { ...body, time: new Date().toISOString() }
  const waiting = read()
  if (waiting.length >= KEPT_MAX) throw new Error(`${KEPT_MAX} entries wait on this device already; it keeps no more`)
  write([...waiting, { path, body: timed }])
}

/** Keeps a photo for an entry that waits; the answer stands in the entry for what the service would have answered. */
export async function keepPhoto(path: string, picture: Blob): Promise<{ readonly waits: string }> {
  const waits = newId()
  await shelve(waits, { path, picture })
  return { waits }
}

/** The photo an entry waits with; a correction carries it in the record it corrects. */
export function waitingPhotoOf(body: Body): string | undefined {
  const record = (body['record'] ?? body) as Body
  const photo = record['photo']
  return typeof photo === 'object' && photo !== null && 'waits' in photo ? String(photo.waits) : undefined
}

function withPhoto(body: Body, photo: unknown): Body {
  if (typeof body['record'] === 'object' && body['record'] !== null) return { ...body, record: withPhoto(body['record'] as Body, photo) }
  const { photo: _, ...rest } = body
  return photo === undefined ? rest : { ...rest, photo }
}

/** What waits for a path, oldest first. */
export function waitingFor(path: string): readonly Body[] {
  return read().flatMap((entry) => (withoutQuery(entry.path) === withoutQuery(path) ? [entry.body] : []))
}

/** What waits is no longer wanted; nothing happens where it has been sent already. */
export function takeBack(id: string): void {
  write(read().filter(({ body }) => body['id'] !== id))
}

/** Follows what waits on this device. */
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
export async function sendWaiting(send: Send): Promise<void> {
  if (sending || read().length === 0) return
  sending = true
  try {
    for (const { body } of read()) {
      // By its id: another window of this device may have sent it, or taken it back, meanwhile.
      const next = read().find((entry) => entry.body['id'] === body['id'])
      if (next === undefined) continue
      const ready = await withSentPhoto(next, send)
      if (ready === 'later') break
      if (ready === 'unknown') continue
      const response = await send(ready.path, ready.body)
      // A server in trouble is asked again; one that says no is not.
      if (isLater(response)) break
      if (response.status === 404 && mayComeBack(next)) continue
      if (!response.ok) giveUp(next.path, await detailOf(response))
      takeBack(String(next.body['id']))
    }
  } catch {
    // Still out of reach; it stays where it is.
  } finally {
    sending = false
  }
}

/** Whether what is not known now may be known soon; others are sent meanwhile. */
function mayComeBack({ body, unknownSinceMs }: Waiting): boolean {
  if (unknownSinceMs !== undefined) return Date.now() - unknownSinceMs < UNKNOWN_MS_MAX
  write(read().map((entry) => (entry.body['id'] === body['id'] ? { ...entry, unknownSinceMs: Date.now() } : entry)))
  return true
}

function isLater({ status }: Response): boolean {
  return status >= 500 || status === 401 || status === 429
}

/** An entry whose photo has been sent, and which names it, or why the service cannot take it now. */
async function withSentPhoto(entry: Waiting, send: Send): Promise<Waiting | 'later' | 'unknown'> {
  const key = waitingPhotoOf(entry.body)
  if (key === undefined) return entry
  const photo = await shelved(key).catch(() => undefined)
  let reference: unknown
  if (photo === undefined) giveUp(entry.path, 'its photo is no longer on this device')
  else {
    const response = await send(photo.path, photo.picture)
    if (isLater(response)) return 'later'
    if (response.status === 404 && mayComeBack(entry)) return 'unknown'
    if (response.ok) reference = await response.json()
    // What was written is worth more than its photo: it is sent without.
    else giveUp(photo.path, await detailOf(response))
  }
  const body = withPhoto(entry.body, reference)
  write(read().map((waiting) => (waiting.body['id'] === entry.body['id'] ? { ...waiting, body } : waiting)))
  // Left on the shelf it takes room and does no harm.
  if (photo !== undefined) await unshelve(key).catch(() => undefined)
  return { ...entry, body }
}

function giveUp(path: string, why: string): void {
  givenUp = [...givenUp, { path, why }]
}

/** Tries again every few seconds and whenever the network comes back. */
export function keepSending(send: Send): () => void {
  const go = (): void => void sendWaiting(send)
  const timer = setInterval(go, TRY_EVERY_MS)
  addEventListener('online', go)
  // Another window of this device keeps or sends.
  addEventListener('storage', tell)
  go()
  return () => {
    clearInterval(timer)
    removeEventListener('online', go)
    removeEventListener('storage', tell)
  }
}

async function detailOf(response: Response): Promise<string> {
  try {
    return ((await response.json()) as { detail?: string }).detail ?? `HTTP ${response.status}`
  } catch {
    return `HTTP ${response.status}`
  }
}

function withoutQuery(path: string): string {
  return path.split('?')[0] ?? path
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
