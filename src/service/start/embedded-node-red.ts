import { randomBytes } from 'node:crypto'
import type { EventEmitter } from 'node:events'
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http'
import { createRequire } from 'node:module'
import type { Socket } from 'node:net'
import { join } from 'node:path'
import { packageRoot } from '../node-red/host.js'
import { listen } from './embedded-broker.js'
import type { FlowAccess, NewFlow } from './flow-line-maker.js'
import { optionalPackage } from './optional-package.js'

export interface EmbeddedNodeRedOptions {
  readonly host: string
  readonly port: number
  readonly dataFolder: string
  /** Written at the first start; edits in the editor persist. */
  readonly flow: { readonly name: string; readonly nodes: readonly object[] }
  readonly credentials: { readonly user: string; readonly passwordHash: string } | undefined
}

type Handler = (request: IncomingMessage, response: ServerResponse, next?: () => void) => void

interface NodeRed {
  init(server: Server, settings: Readonly<Record<string, unknown>>): void
  start(): Promise<void>
  stop(): Promise<void>
  readonly httpAdmin: Handler
  readonly httpNode: Handler
  readonly auth: { basicAuthMiddleware?: unknown }
  readonly events: EventEmitter
  readonly nodes: { getNode(id: string): unknown }
  readonly runtime: { readonly flows: { addFlow(request: { readonly flow: NewFlow }): Promise<string> } }
}

/** Node-RED says that it has started before its flows are; longer than this no stop waits for them, ms. */
const FLOWS_STARTED_MS_MAX = 20_000

interface Application extends Handler {
  use(path: string, ...handlers: Handler[]): void
  get(path: string, handler: (request: IncomingMessage, response: ServerResponse & { redirect(to: string): void }) => void): void
}

/** Node-RED of this process, with this package's nodes, editor at `/editor`, page at `/wave-solder/`. */
export class EmbeddedNodeRed {
  private constructor(
    private readonly nodeRed: NodeRed,
    private readonly server: Server,
    private readonly sockets: ReadonlySet<Socket>,
    private readonly flowsSettled: Promise<void>,
  ) {}

  /** @throws Error with one clear line if the port is taken; UsageError if Node-RED is not installed */
  static async start(options: EmbeddedNodeRedOptions): Promise<EmbeddedNodeRed> {
    const require = createRequire(import.meta.url)
    const nodeRed = await optionalPackage(async () => require('node-red') as NodeRed, 'node-red@4')
    // Node-RED's own express: whatever it was installed with.
    const express = createRequire(require.resolve('node-red'))('express') as () => Application
    const userDir = join(options.dataFolder, 'node-red')
    const flowFile = prepareFlow(userDir, options)
    const application = express()
    const server = createServer(application)
    const sockets = new Set<Socket>()
    server.on('connection', (socket) => {
      sockets.add(socket)
      socket.once('close', () => sockets.delete(socket))
    })
    await listen(server, options.port, options.host, '--port or WAVE_SPC_PORT')
    const flowsSettled = untilFlowsSettled(nodeRed.events)
    try {
      nodeRed.init(server, settingsFor(options, userDir, flowFile))
      application.get('/', (_request, response) => response.redirect('/wave-solder/'))
      application.use('/editor', nodeRed.httpAdmin)
      if (options.credentials !== undefined) application.use('/', basicAuth(options.credentials, require))
      application.use('/', nodeRed.httpNode)
      await nodeRed.start()
    } catch (error) {
      server.close()
      throw error
    }
    return new EmbeddedNodeRed(nodeRed, server, sockets, flowsSettled)
  }

  /** The flows of this process, for lines that are made on the page. */
  get flows(): FlowAccess {
    const { nodeRed } = this
    return {
      add: async (flow) => void (await nodeRed.runtime.flows.addFlow({ flow })),
      hasNode: (id) => nodeRed.nodes.getNode(id) !== null && nodeRed.nodes.getNode(id) !== undefined,
    }
  }

  async stop(): Promise<void> {
    // A flow that is still starting would go on behind the stop, with nobody left to end its nodes.
    await this.flowsSettled
    await this.nodeRed.stop()
    // Event streams and editors would keep the server open for ever.
    for (const socket of this.sockets) socket.destroy()
    await new Promise<void>((resolve) => this.server.close(() => resolve()))
  }
}

/** Resolves once the flows have started, or Node-RED says why it will not start them. */
function untilFlowsSettled(events: EventEmitter): Promise<void> {
  return new Promise((resolve) => {
    const settle = (): void => {
      clearTimeout(limit)
      events.off('flows:started', settle)
      events.off('runtime-event', onRuntimeEvent)
      resolve()
    }
    const onRuntimeEvent = (event: { readonly id: string; readonly payload?: { readonly error?: string; readonly state?: string } }): void => {
      if (event.id === 'runtime-state' && (event.payload?.error !== undefined || event.payload?.state === 'stop')) settle()
    }
    const limit = setTimeout(settle, FLOWS_STARTED_MS_MAX).unref()
    events.on('flows:started', settle)
    events.on('runtime-event', onRuntimeEvent)
  })
}

function settingsFor(options: EmbeddedNodeRedOptions, userDir: string, flowFile: string): Readonly<Record<string, unknown>> {
  const { credentials } = options
  return {
    httpAdminRoot: '/editor',
    httpNodeRoot: '/',
    uiHost: options.host,
    uiPort: options.port,
    userDir,
    flowFile,
    flowFilePretty: true,
    credentialSecret: keptSecret(userDir),
    nodesDir: [packageRoot()],
    functionExternalModules: false,
    externalModules: { palette: { allowInstall: false, allowUpload: false } },
    telemetry: { enabled: false, updateNotification: false },
    editorTheme: { tours: false, projects: { enabled: false }, page: { title: 'wave-solder-spc' }, header: { title: 'wave-solder-spc' } },
    logging: { console: { level: 'off', metrics: false, audit: false }, terminal: { level: 'warn', metrics: false, audit: false, handler: () => logToTerminal } },
    ...(credentials === undefined ? {} : { adminAuth: { type: 'credentials', users: [{ username: credentials.user, password: credentials.passwordHash, permissions: '*' }] } }),
  }
}

interface LogEvent {
  readonly level: number
  readonly msg: unknown
  /** Of the node that says it; absent where Node-RED itself does. */
  readonly type?: string
  readonly name?: string
  readonly id?: string
}

const ERROR_LEVEL = 20

/** What nodes warn of and what fails; Node-RED's own hints about its set-up are of no use to whoever runs this. */
function logToTerminal(event: LogEvent): void {
  if (event.type === undefined && event.level > ERROR_LEVEL) return
  const text = event.msg instanceof Error ? event.msg.message : typeof event.msg === 'string' ? event.msg : JSON.stringify(event.msg)
  process.stderr.write(`${event.level <= ERROR_LEVEL ? 'error' : 'note'}${event.type === undefined ? '' : ` [${event.name || event.type}]`}: ${text}\n`)
}

function prepareFlow(userDir: string, { flow }: EmbeddedNodeRedOptions): string {
  mkdirSync(userDir, { recursive: true })
  const file = join(userDir, flow.name)
  if (!existsSync(file)) writeFileSync(file, `${JSON.stringify(flow.nodes, null, 2)}\n`)
  return file
}

/** Key of the encrypted credentials, made once and kept with them. */
function keptSecret(userDir: string): string {
  const file = join(userDir, 'credential-key')
  if (existsSync(file)) return readFileSync(file, 'utf8').trim()
  const secret = randomBytes(32).toString('hex')
  writeFileSync(file, `${secret}\n`, { mode: 0o600 })
  return secret
}

/** Asks for the same user on page and API as the editor does. */
function basicAuth(credentials: { readonly user: string; readonly passwordHash: string }, require: NodeJS.Require): Handler {
  const fromNodeRed = createRequire(require.resolve('node-red'))
  const { compareSync } = fromNodeRed('bcryptjs') as { compareSync(password: string, hash: string): boolean }
  // A hash takes a tenth of a second by design: the one that fitted last is remembered.
  let known = ''
  return (request, response, next) => {
    const header = request.headers.authorization ?? ''
    if (header !== '' && header === known) return next?.()
    const [user = '', ...rest] = Buffer.from(header.replace(/^Basic /i, ''), 'base64').toString('utf8').split(':')
    if (user === credentials.user && compareSync(rest.join(':'), credentials.passwordHash)) {
      known = header
      return next?.()
    }
    response.writeHead(401, { 'www-authenticate': 'Basic realm="wave-solder-spc"' }).end()
  }
}
