import { randomBytes } from 'node:crypto'
import { personWith, type PeopleFile, type Person, type Role } from './people.js'

const SESSION_MS = 12 * 3_600_000
const SESSIONS_MAX = 2000
/** Wrong tries from one address before it has to wait, and how long. */
const TRIES_MAX = 5
const WAIT_MS = 60_000
const ADDRESSES_MAX = 10_000

interface Session {
  readonly person: Person
  readonly untilMs: number
}

export type SignIn = { readonly kind: 'session'; readonly token: string; readonly person: Person } | { readonly kind: 'wrong' } | { readonly kind: 'wait'; readonly seconds: number }

/** Who the reader is: nobody asked, somebody with a PIN, or somebody who only looks on. */
export interface Reader {
  readonly role: Role
  readonly person?: Person
}

/**
 * Who is signed in on which device. Without a file of people whoever reaches the service is an engineer: then the
 * service itself listens on this computer only, or behind a password of its own. With one, looking on needs no PIN.
 */
export class Sessions {
  private readonly sessions = new Map<string, Session>()
  private readonly tries = new Map<string, { count: number; untilMs: number }>()

  constructor(
    private readonly file: PeopleFile | undefined,
    private readonly nowMs: () => number,
  ) {}

  /** Whether entries need a PIN. */
  get required(): boolean {
    return this.file !== undefined
  }

  /** @param address where the try comes from; wrong ones are counted for each */
  signIn(pin: string, address: string): SignIn {
    if (this.file === undefined) return { kind: 'wrong' }
    const now = this.nowMs()
    const tried = this.tries.get(address)
    if (tried !== undefined && tried.count >= TRIES_MAX && now < tried.untilMs) return { kind: 'wait', seconds: Math.ceil((tried.untilMs - now) / 1000) }
    const person = personWith(pin, this.file)
    if (person === undefined) {
      const count = tried === undefined || now >= tried.untilMs ? 1 : tried.count + 1
      forgetOldest(this.tries, ADDRESSES_MAX)
      this.tries.set(address, { count, untilMs: now + WAIT_MS })
      return { kind: 'wrong' }
    }
    this.tries.delete(address)
    const token = randomBytes(32).toString('base64url')
    forgetOldest(this.sessions, SESSIONS_MAX)
    this.sessions.set(token, { person, untilMs: now + SESSION_MS })
    return { kind: 'session', token, person }
  }

  readerOf(token: string | undefined): Reader {
    if (this.file === undefined) return { role: 'engineer' }
    const session = token === undefined ? undefined : this.sessions.get(token)
    if (session === undefined || session.untilMs <= this.nowMs()) return { role: 'wall' }
    return { role: session.person.role, person: session.person }
  }

  signOut(token: string | undefined): void {
    if (token !== undefined) this.sessions.delete(token)
  }
}

function forgetOldest(map: Map<string, unknown>, most: number): void {
  const oldest = map.keys().next().value
  if (map.size >= most && oldest !== undefined) map.delete(oldest)
}
