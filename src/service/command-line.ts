#!/usr/bin/env node
import { UsageError } from './definition-file.js'

const HELP = `wave-solder-spc <command> [options]

  start      the service: page, flow editor, embedded broker and two simulated lines, or your own line
  check      checks a line definition and prints every fault with its path
  replay     runs a history through the live path and writes what it would have told you
  simulate   writes telemetry of a simulated line and its hidden truth
  pin        makes a person's entry for a file of people
  design     shows the limits a budget leads to, and how soon a change of a given size is seen

Each has --help.
`

type Command = (args: readonly string[]) => Promise<number>

/** Loaded only when asked for, so that `check` does not wait for Node-RED. */
const COMMANDS: Readonly<Record<string, () => Promise<Command>>> = {
  start: async () => (await import('./start-command.js')).runStart,
  check: async () => (await import('./check-command.js')).runCheck,
  replay: async () => (await import('./replay-command.js')).runReplay,
  simulate: async () => (await import('./simulate-command.js')).runSimulate,
  pin: async () => (await import('./pin-command.js')).runPin,
  design: async () => (await import('./design-command.js')).runDesign,
}

/** Runs one command. @returns exit code: 0 done, 1 failed, 2 used wrongly */
async function runCommandLine(args: readonly string[]): Promise<number> {
  const [name = 'help', ...rest] = args
  if (['help', '--help', '-h'].includes(name)) {
    process.stdout.write(HELP)
    return 0
  }
  const load = Object.hasOwn(COMMANDS, name) ? COMMANDS[name] : undefined
  if (load === undefined) {
    process.stderr.write(`there is no command "${name}"\n\n${HELP}`)
    return 2
  }
  try {
    return await (await load())(rest)
  } catch (error) {
    if (error instanceof UsageError || isArgumentError(error)) {
      process.stderr.write(`${error.message}\n`)
      return 2
    }
    process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`)
    if (process.env['WAVE_SPC_STACK'] === '1' && error instanceof Error) process.stderr.write(`${error.stack ?? ''}\n`)
    return 1
  }
}

function isArgumentError(error: unknown): error is Error {
  return error instanceof Error && 'code' in error && String(error.code).startsWith('ERR_PARSE_ARGS')
}

process.exitCode = await runCommandLine(process.argv.slice(2))
