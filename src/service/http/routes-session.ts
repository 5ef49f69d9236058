import { z } from 'zod'
import { ROLES } from '../people/people.js'
import { ProblemError } from './problem.js'
import { get, type Route } from './route-forms.js'

const readerSchema = z.strictObject({
  required: z.boolean().describe('Whether entries need a PIN'),
  role: z.enum(ROLES),
  name: z.string().optional(),
  language: z.string().optional(),
})

const signInSchema = z.strictObject({ pin: z.string().trim().min(1).max(200) })

/** Name of the cookie that carries a session. */
export const SESSION_COOKIE = 'wave-solder-session'

/** Who the reader is: signing in with PIN or badge, and out again. */
export const SESSION_ROUTES: readonly Route[] = [
  get('api/session', 'Who the reader is', readerSchema, ({ access }) => readerView(access)),
  {
    method: 'POST',
    path: 'api/session',
    summary: 'Sign in with PIN or badge',
    body: signInSchema,
    answer: readerSchema,
    answerStatus: 200,
    problems: [400, 401, 415, 429],
    needs: 'wall',
    handle: ({ body, access }) => {
      const result = access.sessions.signIn((body as z.output<typeof signInSchema>).pin, access.address)
      if (result.kind === 'wait') throw new ProblemError(429, 'Too Many Requests', `too many wrong tries; again in ${result.seconds} s`)
      if (result.kind === 'wrong') throw new ProblemError(401, 'Unauthorized', 'nobody here has this PIN')
      const { name, role, language } = result.person
      return { status: 200, body: { required: true, role, name, ...(language === undefined ? {} : { language }) }, cookie: `${SESSION_COOKIE}=${result.token}; Path=/; HttpOnly; SameSite=Strict; Max-Age=43200` }
    },
  },
  {
    method: 'DELETE',
    path: 'api/session',
    summary: 'Sign out',
    answer: readerSchema,
    answerStatus: 200,
    problems: [],
    needs: 'wall',
    handle: ({ access }) => {
      access.sessions.signOut(access.token)
      return { status: 200, body: { required: access.sessions.required, role: access.sessions.readerOf(undefined).role }, cookie: `${SESSION_COOKIE}=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0` }
    },
  },
]

function readerView({ sessions, reader }: { sessions: { readonly required: boolean }; reader: { role: string; person?: { name: string; language?: string | undefined } } }): Record<string, unknown> {
  const { role, person } = reader
  return { required: sessions.required, role, ...(person === undefined ? {} : { name: person.name, ...(person.language === undefined ? {} : { language: person.language }) }) }
}
