import { randomInt } from 'node:crypto'
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { parseArgs } from 'node:util'
import { brokerUrlFault } from './broker-url.js'
import { readDefinitionFile, UsageError } from './definition-file.js'
import { readPeopleFile } from './people/people.js'
import { acquireSite, releaseSite, type Site } from './site.js'
import { EmbeddedBroker } from './start/embedded-broker.js'
import { EmbeddedNodeRed } from './start/embedded-node-red.js'
import { FlowLineMaker } from './start/flow-line-maker.js'
import { setLineMaker } from './line-maker.js'
import { demoFlow, lineFlow } from './start/start-flow.js'

export const START_HELP = `wave-solder-spc start [options]

Runs everything in one process: flow editor, page, store, and, without --line, a broker and two simulated lines.

  --port <n>        page and flow editor        WAVE_SPC_PORT       default 1880
  --mqtt-port <n>   embedded broker             WAVE_SPC_MQTT_PORT  default 1884
  --data <folder>   data folder                 WAVE_SPC_DATA       default .wave-solder
  --seed <n>        which fault the first simulated line gets; drawn at the first start, then kept
  --empty           no simulated lines: the page offers them, your own history or a new line
  --line <file>     your own line instead of the simulated ones: its definition …
  --broker <url>    … and your broker, e.g. mqtt://host:1883; user and password in WAVE_SPC_BROKER_USER and
                    WAVE_SPC_BROKER_PASSWORD
  --host <address>  where to listen; default 127.0.0.1, this computer only. Any other address needs a user in
                    WAVE_SPC_USER and a password hash in WAVE_SPC_PASSWORD_HASH (made by "node-red admin hash-pw")

WAVE_SPC_PEOPLE names a file of people with PINs: then an entry needs one; see "pin --help".
Points and rule hits are kept WAVE_SPC_KEEP_DAYS days, 400 without it; suggestions and baselines for good.
`

export interface StartOptions {
  readonly host: string
  readonly port: number
  readonly mqttPort: number
  readonly dataFolder: string
  readonly seed: number | undefined
  readonly own: { readonly lineFile: string; readonly line: string; readonly broker: string } | undefined
  readonly credentials: { readonly user: string; readonly passwordHash: string } | undefined
  /** Begin without any line. */
  readonly empty: boolean
}

/** Runs the service until it is told to end. @returns exit code */
export async function runStart(args: readonly string[]): Promise<number> {
  const options = parseStartOptions(args, process.env)
  if (options === undefined) {
    process.stdout.write(START_HELP)
    return 0
  }
  const told = new Promise<void>((resolve) => {
    process.once('SIGINT', resolve)
    process.once('SIGTERM', resolve)
  })
  const service = await startService(options)
  process.stdout.write(service.greeting)
  await told
  process.stdout.write('\nending …\n')
  await service.stop()
  return 0
}

/** @returns the options, or undefined if only help was asked for; @throws UsageError */
export function parseStartOptions(args: readonly string[], env: NodeJS.ProcessEnv): StartOptions | undefined {
  const { values } = parseArgs({
    args: [...args],
    options: {
      port: { type: 'string' },
      'mqtt-port': { type: 'string' },
      data: { type: 'string' },
      seed: { type: 'string' },
      line: { type: 'string' },
      broker: { type: 'string' },
      host: { type: 'string' },
      empty: { type: 'boolean' },
      help: { type: 'boolean' },
    },
  })
  if (values.help === true) return undefined
  const host = values.host ?? '127.0.0.1'
  const { WAVE_SPC_USER: user = '', WAVE_SPC_PASSWORD_HASH: passwordHash = '' } = env
  const credentials = user !== '' && passwordHash !== '' ? { user, passwordHash } : undefined
  if (!['127.0.0.1', '::1', 'localhost'].includes(host) && credentials === undefined) {
    throw new UsageError(`--host ${host} would let other computers in: it needs a user in WAVE_SPC_USER and a password hash in WAVE_SPC_PASSWORD_HASH (made by "node-red admin hash-pw")`)
  }
  const people = env['WAVE_SPC_PEOPLE'] ?? ''
  if (people !== '') readPeopleFile(people)
  if (values.broker !== undefined && values.line === undefined) throw new UsageError('--broker goes with --line <line.json>')
  if (values.line !== undefined && values.broker === undefined) throw new UsageError('--line needs --broker, e.g. --broker mqtt://localhost:1883')
  if (values.empty === true && values.line !== undefined) throw new UsageError('--empty begins without a line; it does not go with --line')
  const brokerFault = values.broker === undefined ? undefined : brokerUrlFault(values.broker)
  if (brokerFault !== undefined) throw new UsageError(brokerFault.endsWith('a user') ? `--broker: ${brokerFault}; give user and password in WAVE_SPC_BROKER_USER and WAVE_SPC_BROKER_PASSWORD` : `--broker: ${brokerFault}`)
  const seed = values.seed === undefined ? undefined : wholeNumber('--seed', values.seed, 0, Number.MAX_SAFE_INTEGER)
  return {
    host,
    port: wholeNumber('--port', values.port ?? (env['WAVE_SPC_PORT'] || '1880'), 1, 65_535),
    mqttPort: wholeNumber('--mqtt-port', values['mqtt-port'] ?? (env['WAVE_SPC_MQTT_PORT'] || '1884'), 1, 65_535),
    dataFolder: resolve(values.data ?? (env['WAVE_SPC_DATA'] || '.wave-solder')),
    seed,
    own: values.line === undefined || values.broker === undefined ? undefined : { lineFile: resolve(values.line), line: readDefinitionFile(values.line).line, broker: values.broker },
    credentials,
    empty: values.empty ?? false,
  }
}

export interface RunningService {
  readonly greeting: string
  stop(): Promise<void>
}

/** Starts broker (demo only) and Node-RED. @throws UsageError or Error with one clear line, e.g. for a taken port */
export async function startService(options: StartOptions): Promise<RunningService> {
  mkdirSync(options.dataFolder, { recursive: true })
  const { own } = options
  const seed = own === undefined ? keptSeed(options.dataFolder, options.seed) : 0
  // What was learned belongs to the plant that the seed made: another seed has a folder of its own.
  const storeFolder = own === undefined && !options.empty ? join(options.dataFolder, `demo-${seed}`) : options.dataFolder
  process.env['WAVE_SPC_DATA'] = storeFolder
  // Held from the beginning: a folder that another process has is said before anything else starts.
  const site = await acquireSite({ dataFolder: storeFolder, log: (message) => void process.stderr.write(`note: ${message}\n`) })
  try {
    return await startOn(site, options, seed)
  } catch (error) {
    await releaseSite(site)
    throw error
  }
}

async function startOn(site: Site, options: StartOptions, seed: number): Promise<RunningService> {
  const { own } = options
  const broker = own === undefined ? await EmbeddedBroker.start(options.mqttPort) : undefined
  try {
    process.env['WAVE_SPC_SEED'] = String(seed)
    process.env['WAVE_SPC_BROKER'] = own?.broker ?? `mqtt://127.0.0.1:${options.mqttPort}`
    process.env['WAVE_SPC_LINE'] = own?.lineFile ?? ''
    const flow = options.empty ? { name: 'flows-made.json', nodes: [] } : own === undefined ? { name: 'flows-demo.json', nodes: demoFlow() } : { name: `flows-${own.line}.json`, nodes: lineFlow() }
    const nodeRed = await EmbeddedNodeRed.start({ ...options, flow })
    if (options.empty) setLineMaker(new FlowLineMaker(join(options.dataFolder, 'lines'), nodeRed.flows, process.env['WAVE_SPC_BROKER']))
    const base = `http://${options.host.includes(':') ? `[${options.host}]` : options.host}:${options.port}`
    return {
      greeting: options.empty ? emptyGreeting(base, options) : own === undefined ? demoGreeting(base, options, seed) : ownGreeting(base, own),
      async stop() {
        setLineMaker(undefined)
        await nodeRed.stop()
        await releaseSite(site)
        await broker?.stop()
      },
    }
  } catch (error) {
    await broker?.stop()
    throw error
  }
}

/** The seed asked for, else the last one used in this folder, else a new one. */
function keptSeed(dataFolder: string, asked: number | undefined): number {
  const file = join(dataFolder, 'demo-seed')
  const kept = existsSync(file) ? Number(readFileSync(file, 'utf8')) : undefined
  if (asked === undefined && kept !== undefined && Number.isSafeInteger(kept) && kept >= 0) return kept
  const seed = asked ?? randomInt(1, 1_000_000)
  writeFileSync(file, `${seed}\n`)
  return seed
}

function demoGreeting(base: string, options: StartOptions, seed: number): string {
  return `wave-solder-spc is running. It only advises; it never commands a machine.
  page         ${base}/wave-solder/
  flow editor  ${base}/editor/
  MQTT         mqtt://127.0.0.1:${options.mqttPort}  (suggestions: wave-solder/north-1/suggestions)
  data         ${options.dataFolder}
All data are SIMULATED, in ACCELERATED time (an hour in about a second): two lines of an invented plant, seed ${seed}.
Line north-1 learns what is normal for some simulated days, then one section fouls: within about three minutes it
stands in the queue as a suggestion. Line north-2 stays healthy. Ctrl-C ends; the next start goes on from there.
`
}

function emptyGreeting(base: string, options: StartOptions): string {
  return `wave-solder-spc is running, without a line. It only advises; it never commands a machine.
  page         ${base}/wave-solder/   offers your own history, a new line, or the demonstration
  flow editor  ${base}/editor/
  MQTT         mqtt://127.0.0.1:${options.mqttPort}
  data         ${options.dataFolder}
Ctrl-C ends; the next start goes on from there.
`
}

function ownGreeting(base: string, own: NonNullable<StartOptions['own']>): string {
  return `wave-solder-spc is running. It only advises; it never commands a machine.
  page         ${base}/wave-solder/
  flow editor  ${base}/editor/
  line         ${own.line} from ${own.lineFile}
  broker       ${own.broker}
Nothing is simulated. Charts first learn what is normal; the page shows how far they are. Ctrl-C ends.
`
}

function wholeNumber(option: string, text: string, min: number, max: number): number {
  const value = Number(text)
  if (text.trim() === '' || !Number.isInteger(value) || value < min || value > max) throw new UsageError(`${option}: expected a whole number from ${min} to ${max}, got "${text}"`)
  return value
}
