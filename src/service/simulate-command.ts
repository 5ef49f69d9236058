import { createWriteStream, mkdirSync, writeFileSync, type WriteStream } from 'node:fs'
import { once } from 'node:events'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { parseLineDefinition } from '../line/line-definition.js'
import { demoConfig } from '../simulator/demo-line.js'
import { drawScenario } from '../simulator/draw-scenario.js'
import { describeLine } from '../simulator/line-description.js'
import { isSimulatedFault, SIMULATED_FAULTS } from '../simulator/simulation-causes.js'
import type { SimulationConfig } from '../simulator/simulation-config.js'
import { createSimulation, truthOf, type Simulation } from '../simulator/simulation.js'
import { LONG_FORM_HEADER, longFormRows, truthAsJson, wideFormHeader, wideFormRows } from '../simulator/telemetry-file.js'
import { UsageError } from './definition-file.js'
import { ProgressBar } from './progress-bar.js'

export const SIMULATE_HELP = `wave-solder-spc simulate --out <folder> [options]

Writes telemetry of a simulated line and its hidden truth: readings.csv, truth.json, and line.json for replay.

  --out <folder>        where the files go; made if it is not there
  --seed <n>            whole number; the same seed gives the same bytes; default 1
  --days <n>            length in days; default 12
  --fault <cause>       a cause such as dirty-chain, "none", or "drawn"; default drawn
  --zone <n>            preheat zone of the fault, where it sits in one
  --onset <hours>       hours from the start to the onset; default drawn, about half of the length
  --growth <hours>      production hours from severity 0 to the end; default drawn
  --severity <0-1>      severity at the end; default drawn
  --channels <set>      minimum (zone temperatures, speed, level), minimum+ (and set-points, recipe, board count), rich (all),
                        or channel ids with commas; default minimum+
  --period <s>          one logging period for all streaming channels; default drawn per channel
  --start <time>        ISO 8601, UTC; default 2026-01-05, a Monday
  --form long|wide      form of readings.csv; default long
  --quiet-life          no draughts, edits, dropouts or routine work: only the working days
  --demo faulty|healthy one of the two lines of the demonstration instead of a drawn plant
  --line <id>           id of the line in line.json; default sim-<seed>
`

const CHUNK_CHARACTERS = 1 << 18

type Print = (text: string) => void

/**
 * Runs the command.
 *
 * @returns exit code: 0 done, 2 used wrongly (said on standard error)
 */
export async function runSimulate(args: readonly string[], print: Print = (text) => void process.stdout.write(text)): Promise<number> {
  let request: SimulateRequest
  try {
    const parsed = parseRequest(args)
    if (parsed === 'help') {
      print(SIMULATE_HELP)
      return 0
    }
    request = parsed
  } catch (error) {
    process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`)
    return 2
  }
  await writeSimulation(request, print)
  return 0
}

interface SimulateRequest {
  readonly config: SimulationConfig
  readonly out: string
  readonly line: string
  readonly form: 'long' | 'wide'
  /** Made while the options are checked, so that what is wrong with them is said before a file is written. */
  readonly simulation: Simulation
  readonly definition: unknown
}

const OPTIONS = {
  out: { type: 'string' },
  seed: { type: 'string' },
  days: { type: 'string' },
  fault: { type: 'string' },
  zone: { type: 'string' },
  onset: { type: 'string' },
  growth: { type: 'string' },
  severity: { type: 'string' },
  channels: { type: 'string' },
  period: { type: 'string' },
  start: { type: 'string' },
  form: { type: 'string' },
  'quiet-life': { type: 'boolean' },
  demo: { type: 'string' },
  line: { type: 'string' },
  help: { type: 'boolean' },
} as const

type Values = { readonly [Name in keyof typeof OPTIONS]?: (typeof OPTIONS)[Name]['type'] extends 'boolean' ? boolean : string }

function parseRequest(args: readonly string[]): SimulateRequest | 'help' {
  const { values } = parseArgs({ args: [...args], options: OPTIONS })
  if (values.help === true) return 'help'
  if (values.out === undefined) throw new UsageError('simulate needs --out <folder>; see simulate --help')
  const form = oneOf('form', values.form ?? 'long', ['long', 'wide'])
  const config = configOf(values)
  const line = values.line ?? `sim-${Math.abs(config.seed)}`
  const simulation = createSimulation(config)
  const definition = describeLine(simulation, { line })
  const checked = parseLineDefinition(definition)
  if (checked.kind === 'faults') throw new UsageError(checked.faults.map(({ path, message }) => `${path}: ${message}`).join('\n'))
  return { config, out: values.out, line, form, simulation, definition }
}

function configOf(values: Values): SimulationConfig {
  const seed = number('seed', values.seed ?? '1', { whole: true })
  const startMs = startOf(values.start ?? '2026-01-05')
  const channels = channelsOf(values.channels ?? 'minimum+')
  if (values.demo !== undefined) {
    const config = demoConfig({ seed, line: oneOf('demo', values.demo, ['faulty', 'healthy']), startMs })
    return values.days === undefined ? config : { ...config, durationHours: 24 * number('days', values.days, { above: 0 }) }
  }
  const fault = values.fault ?? 'drawn'
  if (fault !== 'none' && fault !== 'drawn' && !isSimulatedFault(fault)) throw new UsageError(`--fault: there is no "${fault}"; expected none, drawn or one of ${Object.keys(SIMULATED_FAULTS).join(', ')}`)
  const config = drawScenario({
    seed,
    kind: fault === 'none' ? 'healthy' : 'fault',
    channels,
    startMs,
    days: number('days', values.days ?? '12', { above: 0 }),
    quiet: values['quiet-life'] === true,
    ...(isSimulatedFault(fault) ? { cause: fault } : {}),
    ...(values.zone === undefined ? {} : { zone: number('zone', values.zone, { whole: true, above: 0 }) }),
  })
  const [drawn] = config.faults
  if (drawn !== undefined) {
    config.faults = [
      {
        ...drawn,
        ...(values.onset === undefined ? {} : { onsetHours: number('onset', values.onset, {}) }),
        ...(values.growth === undefined ? {} : { growthHours: number('growth', values.growth, {}) }),
        ...(values.severity === undefined ? {} : { severityEnd: number('severity', values.severity, {}) }),
      },
    ]
  }
  if (values.period !== undefined) config.periodsS = { '*': number('period', values.period, { whole: true, above: 0 }) }
  return config
}

async function writeSimulation(request: SimulateRequest, print: Print): Promise<void> {
  const { config, out, form, simulation } = request
  mkdirSync(out, { recursive: true })
  writeFileSync(join(out, 'line.json'), `${JSON.stringify(request.definition, null, 2)}\n`)
  const count = await writeReadings(createWriteStream(join(out, 'readings.csv')), simulation, form)
  writeFileSync(join(out, 'truth.json'), truthAsJson(truthOf(simulation)))
  const [fault] = config.faults
  const words = fault === undefined ? 'no fault' : `${fault.cause}${fault.zone === undefined ? '' : ` in zone ${fault.zone}`} from ${new Date(config.startMs + fault.onsetHours * 3_600_000).toISOString().slice(0, 16)}Z`
  print(`${count} readings of ${simulation.channels.length} channels over ${Number((config.durationHours / 24).toFixed(2))} days, seed ${config.seed}: ${words}\n${join(out, 'readings.csv')}, truth.json, line.json\n`)
}

/** Streams the readings with backpressure, so that memory stays flat whatever the length. */
async function writeReadings(file: WriteStream, simulation: Simulation, form: 'long' | 'wide'): Promise<number> {
  const bar = process.stderr.isTTY ? new ProgressBar(process.stderr, 'simulate') : undefined
  const { startMs, durationHours } = simulation.config
  let failure: Error | undefined
  file.on('error', (error) => (failure = error))
  let chunk = form === 'long' ? LONG_FORM_HEADER : wideFormHeader(simulation.channels)
  let count = 0
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
    count += sample.values.length + sample.delayed.length
    chunk += form === 'long' ? longFormRows(sample) : wideFormRows(sample, simulation.channels)
    if (chunk.length < CHUNK_CHARACTERS) continue
    if (!file.write(chunk)) await once(file, 'drain')
    chunk = ''
    if (failure !== undefined) throw failure
    bar?.show((simulation.timeMs - startMs) / (durationHours * 3_600_000), new Date(simulation.timeMs).toISOString().slice(0, 16))
  }
  file.end(chunk)
  await once(file, 'close')
  if (failure !== undefined) throw failure
  bar?.done('')
  return count
}

function channelsOf(text: string): SimulationConfig['channels'] {
  if (text === 'minimum' || text === 'minimum+' || text === 'rich') return text
  return text.split(',').map((channel) => channel.trim())
}

function startOf(text: string): number {
  const startMs = Date.parse(/Z$|[+-]\d\d:?\d\d$/.test(text) || !text.includes('T') ? text : `${text}Z`)
  if (!Number.isFinite(startMs)) throw new UsageError(`--start: "${text}" is not a time; expected ISO 8601 such as 2026-01-05 or 2026-01-05T06:00:00Z`)
  return startMs
}

function oneOf<const T extends string>(option: string, text: string, allowed: readonly T[]): T {
  const found = allowed.find((word) => word === text)
  if (found === undefined) throw new UsageError(`--${option}: "${text}" is not ${allowed.join(' or ')}`)
  return found
}

function number(option: string, text: string, bounds: { readonly whole?: boolean; readonly above?: number }): number {
  const value = Number(text)
  const { whole = false, above } = bounds
  if (text.trim() === '' || !Number.isFinite(value) || (whole && !Number.isSafeInteger(value)) || (above !== undefined && value <= above)) {
    throw new UsageError(`--${option}: "${text}" is not ${whole ? 'a whole number' : 'a number'}${above === undefined ? '' : ` above ${above}`}`)
  }
  return value
}
