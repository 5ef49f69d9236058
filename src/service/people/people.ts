import { randomBytes, scryptSync, timingSafeEqual } from 'node:crypto'
import { readFileSync } from 'node:fs'
import { z } from 'zod'
import { requireFile, UsageError } from '../definition-file.js'
import { parseJsonText } from '../json-text.js'

/** From looking on to deciding; each may do what those before it may. */
export const ROLES = ['wall', 'technician', 'engineer'] as const
export type Role = (typeof ROLES)[number]

const personSchema = z.strictObject({
  name: z.string().trim().min(1).max(80).describe('Shown beside what the person enters'),
  role: z.enum(['technician', 'engineer']),
  pin: z.string().regex(/^[0-9a-f]{64}$/, 'expected what "wave-solder-spc pin" prints').describe('Salted hash of PIN or badge'),
  language: z.enum(['en-US', 'es']).optional(),
})

const peopleSchema = z.strictObject({
  salt: z.string().regex(/^[0-9a-f]{32}$/, 'expected 32 hexadecimal digits; "wave-solder-spc pin" makes them'),
  people: z.array(personSchema).min(1).max(1000),
})

export type Person = z.output<typeof personSchema>
export interface PeopleFile {
  readonly salt: string
  readonly people: readonly Person[]
}

/** Cost of one try, so that four digits are not guessed in an afternoon. */
const SCRYPT = { N: 16_384, r: 8, p: 1 } as const

/** A new salt for a file of people. */
export function newSalt(): string {
  return randomBytes(16).toString('hex')
}

/** What the file keeps of a PIN or badge; one salt for the file, so that a try costs one hash however many people there are. */
export function pinHash(pin: string, salt: string): string {
  return scryptSync(pin.trim(), Buffer.from(salt, 'hex'), 32, SCRYPT).toString('hex')
}

/** @throws UsageError that says what is wrong with the file and where */
export function readPeopleFile(path: string): PeopleFile {
  requireFile(path)
  const read = parseJsonText(readFileSync(path, 'utf8'))
  if (read.kind === 'fault') throw new UsageError(`${path}, line ${read.fault.line}, column ${read.fault.column} is not JSON: ${read.fault.message}`)
  const result = peopleSchema.safeParse(read.value)
  if (!result.success) throw new UsageError(`${path} is no file of people:\n${result.error.issues.map(({ path: place, message }) => `  ${place.join('.') || '(whole)'}: ${message}`).join('\n')}`)
  const twice = result.data.people.find(({ pin }, index) => result.data.people.findIndex((other) => other.pin === pin) !== index)
  if (twice !== undefined) throw new UsageError(`${path}: "${twice.name}" has the same PIN as somebody else`)
  return { salt: result.data.salt, people: result.data.people.map(({ language, ...person }) => ({ ...person, ...(language === undefined ? {} : { language }) })) }
}

/** The person with a PIN; every person is compared, so that the time tells nothing. */
export function personWith(pin: string, { salt, people }: PeopleFile): Person | undefined {
  const hash = Buffer.from(pinHash(pin, salt), 'hex')
  let found: Person | undefined
  for (const person of people) if (timingSafeEqual(hash, Buffer.from(person.pin, 'hex'))) found = person
  return found
}

/** Whether a role may do what another is needed for. */
export function mayDo(role: Role, needed: Role): boolean {
  return ROLES.indexOf(role) >= ROLES.indexOf(needed)
}
