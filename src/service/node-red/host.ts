import { readFileSync } from 'node:fs'
import { dirname, join, resolve } from 'node:path'
import { fileURLToPath } from 'node:url'
import type { NodeAPI } from 'node-red'
import { HttpApi, type HostApplication } from '../http/http-api.js'
import type { LinePort } from '../line-port.js'
import { newSalt, readPeopleFile, type PeopleFile } from '../people/people.js'
import { OwnHistory } from '../own-history/own-history.js'
import { onSiteOpened, openSiteOf } from '../site.js'

/** Data folder of the lines of this Node-RED. */
export function dataFolderOf(RED: NodeAPI): string {
  const fromEnvironment = process.env['WAVE_SPC_DATA']
  if (fromEnvironment !== undefined && fromEnvironment !== '') return resolve(fromEnvironment)
  return join((RED.settings as { readonly userDir?: string }).userDir ?? '.', 'wave-solder')
}

/** People with a PIN; a file that cannot be read lets nobody in rather than everybody. */
function peopleOf(RED: NodeAPI): PeopleFile | undefined {
  const path = process.env['WAVE_SPC_PEOPLE'] ?? ''
  if (path === '') return undefined
  try {
    return readPeopleFile(path)
  } catch (error) {
    RED.log.error(`WAVE_SPC_PEOPLE: ${error instanceof Error ? error.message : String(error)}; nobody can sign in`)
    return { salt: newSalt(), people: [] }
  }
}

const mounted = new WeakSet<object>()

/** Mounts page and API on Node-RED's HTTP root, once for the life of the process. */
export function mountHttp(RED: NodeAPI): void {
  const application = RED.httpNode as unknown as HostApplication | undefined
  // With `httpNodeRoot: false` there is no HTTP side.
  if (application === undefined || typeof application.use !== 'function' || mounted.has(application)) return
  mounted.add(application)
  const root = packageRoot()
  // Opened when it is first asked for: what an earlier process left is then tidied up.
  let history: OwnHistory | undefined
  const api = new HttpApi({
    site: () => openSiteOf(dataFolderOf(RED)),
    pageFolder: join(root, 'dist', 'page'),
    version: (JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as { version: string }).version,
    ownHistory: () => (history ??= new OwnHistory(join(resolve(dataFolderOf(RED)), 'own-history'), join(root, 'dist', 'src', 'service', 'command-line.js'))),
    people: peopleOf(RED),
    log: (message) => RED.log.error(message),
  })
  api.mount(application)
  onSiteOpened((site) => {
    if (site.folder === resolve(dataFolderOf(RED))) site.onOutput((stored) => api.stream.publish(stored))
  })
}

/** Root of this package: the same whether the sources run or the build. */
export function packageRoot(): string {
  let folder = dirname(fileURLToPath(import.meta.url))
  while (!isOurs(join(folder, 'package.json'))) {
    const above = dirname(folder)
    if (above === folder) throw new Error('the package folder was not found')
    folder = above
  }
  return folder
}

function isOurs(file: string): boolean {
  try {
    return (JSON.parse(readFileSync(file, 'utf8')) as { name?: string }).name === '@wave-solder-spc/node-red'
  } catch {
    return false
  }
}

interface FlowStarts {
  readonly ports: Set<LinePort>
  waiting: (() => void)[]
}

const flowStarts = new WeakMap<object, FlowStarts>()

/** One listener for all nodes of a Node-RED, however many there are. */
function flowStartsOf(RED: NodeAPI): FlowStarts {
  let starts = flowStarts.get(RED.events)
  if (starts === undefined) {
    const made: FlowStarts = { ports: new Set(), waiting: [] }
    RED.events.on('flows:started', () => {
      for (const port of made.ports) void port.settle()
      const waiting = made.waiting
      made.waiting = []
      // The lines that open now come first.
      setImmediate(() => waiting.forEach((go) => go()))
    })
    flowStarts.set(RED.events, made)
    starts = made
  }
  return starts
}

/**
 * The lines whose nodes exist. Stages follow from the nodes, so they are counted when all nodes have started: at the
 * first start and after every deploy.
 */
export function settleWhenFlowsStart(RED: NodeAPI): Set<LinePort> {
  return flowStartsOf(RED).ports
}

/** Resolves when the flows of the deploy under way have started and their lines are opening. */
export function whenFlowsStarted(RED: NodeAPI): Promise<void> {
  return new Promise((resolve) => flowStartsOf(RED).waiting.push(resolve))
}
