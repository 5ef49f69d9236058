import { createInterface } from 'node:readline/promises'
import { parseArgs } from 'node:util'
import { UsageError } from './definition-file.js'
import { newSalt, pinHash, readPeopleFile } from './people/people.js'

export const PIN_HELP = `wave-solder-spc pin [--people <file>] [--name <name>] [--role technician|engineer]

Reads a PIN or badge from standard input and prints the person's entry for a file of people. With --people the salt of
that file is used; without it a whole new file is printed. Name the file in WAVE_SPC_PEOPLE: then the page asks for a
PIN before it takes an entry, and for an engineer's before limits or settings on hold are decided. Looking on is free.
`

const PIN_CHARS_MIN = 4

/** Runs the command. @returns exit code */
export async function runPin(args: readonly string[]): Promise<number> {
  const { values } = parseArgs({ args: [...args], options: { people: { type: 'string' }, name: { type: 'string' }, role: { type: 'string' }, help: { type: 'boolean' } } })
  if (values.help === true) {
    process.stdout.write(PIN_HELP)
    return 0
  }
  const { name = 'name', role = 'technician' } = values
  if (role !== 'technician' && role !== 'engineer') throw new UsageError(`--role: expected technician or engineer, got "${role}"`)
  const salt = values.people === undefined ? newSalt() : readPeopleFile(values.people).salt
  if (process.stdin.isTTY) process.stderr.write('PIN or badge: ')
  const pin = await firstLine()
  if (pin.length < PIN_CHARS_MIN) throw new UsageError(`expected a PIN of at least ${PIN_CHARS_MIN} characters`)
  const person = { name, role, pin: pinHash(pin, salt) }
  process.stdout.write(`${JSON.stringify(values.people === undefined ? { salt, people: [person] } : person, null, 2)}\n`)
  return 0
}

async function firstLine(): Promise<string> {
  for await (const line of createInterface({ input: process.stdin })) return line.trim()
  return ''
}
