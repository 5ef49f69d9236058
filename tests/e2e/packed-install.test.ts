import { execFile } from 'node:child_process'
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { promisify } from 'node:util'
import { connectAsync, type MqttClient } from 'mqtt'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { startAedes, type TestBroker } from '../brokers.js'
import { CHECKOUT, requireBuild, startNodeRed, type NodeRedProcess } from '../node-red-process.js'

const run = promisify(execFile)

const PACKAGE = '@wave-solder-spc/node-red'
const NODE_TYPES = ['control-chart', 'line-simulator', 'line-telemetry', 'maintenance-queue', 'maintenance-record', 'section-diagnosis', 'solder-line']
/** The pot of its first line runs low on day 4. */
const SEED = 1

interface PackedFile {
  readonly path: string
}

interface NodeSet {
  readonly module: string
  readonly enabled: boolean
  readonly err?: string
  readonly types: readonly string[]
}

let folder = ''
let packed: { readonly filename: string; readonly files: readonly PackedFile[] }
let broker: TestBroker
let client: MqttClient
let nodeRed: NodeRedProcess
const onTopics: { readonly topic: string; readonly message: Readonly<Record<string, unknown>> }[] = []

/** Packs what is built, and installs it the way a Node-RED's user folder gets its packages. */
async function packAndInstall(userDir: string): Promise<void> {
  // Without scripts: packing would build, under the feet of the tests that run on the build beside this one.
  const { stdout } = await run('npm', ['pack', '--json', '--ignore-scripts', '--pack-destination', folder], { cwd: CHECKOUT, maxBuffer: 16 * 1024 * 1024 })
  const [first] = JSON.parse(stdout) as (typeof packed)[]
  if (first === undefined) throw new Error('npm pack packed nothing')
  packed = first
  mkdirSync(userDir)
  writeFileSync(join(userDir, 'package.json'), JSON.stringify({ name: 'node-red-project', version: '0.0.1', private: true }))
  await run('npm', ['install', join(folder, packed.filename), '--prefer-offline', '--no-audit', '--no-fund'], { cwd: userDir, maxBuffer: 16 * 1024 * 1024 })
}

async function answer(path: string, init: RequestInit = {}): Promise<Response> {
  return fetch(`${nodeRed.url}${path}`, { ...init, headers: { accept: 'application/json', ...init.headers } })
}

beforeAll(async () => {
  requireBuild('dist/nodes/solder-line/solder-line.js', 'dist/page/main.js', 'examples/demo.json')
  folder = mkdtempSync(join(tmpdir(), 'packed-'))
  const userDir = join(folder, 'user')
  await packAndInstall(userDir)
  broker = await startAedes()
  client = await connectAsync(broker.url, { clientId: 'somebody-else' })
  client.on('message', (topic, payload) => onTopics.push({ topic, message: JSON.parse(payload.toString()) as Record<string, unknown> }))
  await client.subscribeAsync('wave-solder/+/suggestions', { qos: 1 })
  nodeRed = await startNodeRed({ userDir, flow: [], env: { WAVE_SPC_BROKER: broker.url, WAVE_SPC_SEED: String(SEED), WAVE_SPC_DATA: '' } })
}, 180_000)

afterAll(async () => {
  await nodeRed?.stop()
  await client?.endAsync()
  await broker?.stop()
  rmSync(folder, { recursive: true, force: true })
})

describe('the package, packed and installed into a clean Node-RED', () => {
  it('brings what it needs and nothing else', () => {
    const paths = packed.files.map(({ path }) => path)
    for (const type of NODE_TYPES) for (const file of [`${type}.js`, `${type}.html`, `locales/en-US/${type}.json`, `locales/es/${type}.json`]) expect(paths).toContain(`dist/nodes/${type}/${file}`)
    expect(paths).toEqual(expect.arrayContaining(['dist/page/index.html', 'dist/page/main.js', 'dist/src/service/command-line.js', 'examples/demo.json', 'examples/your-line.json', 'LICENSE', 'README.md', 'package.json']))
    expect(paths.filter((path) => !/^(dist\/(src|nodes|page)\/|examples\/|LICENSE$|README\.md$|package\.json$)/.test(path))).toEqual([])
    expect(paths.filter((path) => /\.(ts|tsx|map)$|^dist\/src\/tools\//.test(path))).toEqual([])
    // Nothing of a source that is gone.
    expect(paths.filter((path) => /^dist\/(src|nodes)\/.*\.js$/.test(path) && !existsSync(join(CHECKOUT, path.slice('dist/'.length).replace(/\.js$/, '.ts'))))).toEqual([])
  })

  it('is listed with all its nodes and its example flows', { timeout: 60_000 }, async () => {
    await expect.poll(async () => ((await (await answer('/nodes')).json()) as NodeSet[]).filter(({ module }) => module === PACKAGE).flatMap(({ types }) => types).sort(), { timeout: 30_000 }).toEqual(NODE_TYPES)
    const sets = ((await (await answer('/nodes')).json()) as NodeSet[]).filter(({ module }) => module === PACKAGE)
    expect(sets.filter(({ enabled, err }) => !enabled || err !== undefined)).toEqual([])
    for (const name of ['demo', 'single-chart', 'your-line']) {
      const response = await answer(`/library/examples/flows/${PACKAGE}/${name}`)
      expect(response.status, name).toBe(200)
      const flow = (await response.json()) as { readonly type: string }[]
      expect(flow.some(({ type }) => NODE_TYPES.includes(type)), name).toBe(true)
    }
    const list = JSON.stringify(await (await answer('/library/examples/flows/')).json())
    expect(list).toContain(PACKAGE)
  })

  it('reaches a suggestion with the demonstration flow from its own examples', { timeout: 180_000 }, async () => {
    const example = (await (await answer(`/library/examples/flows/${PACKAGE}/demo`)).json()) as { readonly id: string }[]
    // The first line as fast as it goes: the demonstration itself takes two minutes on purpose.
    const flow = example.map((node) => (node.id === 'ws-north-1-sim' ? { ...node, speed: 100_000 } : node))
    const deployed = await answer('/flows', { method: 'POST', headers: { 'content-type': 'application/json', 'Node-RED-API-Version': 'v1', 'Node-RED-Deployment-Type': 'full' }, body: JSON.stringify(flow) })
    expect(deployed.status).toBe(204)
    await expect.poll(() => onTopics.length, { timeout: 150_000, interval: 200 }).toBeGreaterThan(0)
    expect(onTopics[0]?.topic).toBe('wave-solder/north-1/suggestions')
    expect(onTopics[0]?.message).toMatchObject({ schemaVersion: 1, line: 'north-1', section: 'pot', status: 'open' })
    const page = await fetch(`${nodeRed.url}/wave-solder/`)
    expect(page.status).toBe(200)
    expect(await page.text()).toContain('main.js')
    const queue = (await (await answer('/wave-solder/api/suggestions')).json()) as { readonly suggestions: readonly { readonly id: string }[] }
    expect(queue.suggestions.map(({ id }) => id)).toContain(onTopics[0]?.message['id'])
    // Without a data folder of its own it keeps its data in the user folder.
    expect(existsSync(join(folder, 'user', 'wave-solder'))).toBe(true)
    expect(nodeRed.log()).not.toMatch(/\[error\]/)
  })

  it('has a command line of its own there', { timeout: 60_000 }, async () => {
    const command = join(folder, 'user', 'node_modules', '.bin', 'wave-solder-spc')
    const lineFile = join(folder, 'line.json')
    writeFileSync(lineFile, JSON.stringify({ line: 'line-a', title: 'Line A' }))
    const { stdout } = await run(command, ['check', lineFile])
    expect(stdout).toContain('line-a')
    const { version } = JSON.parse(readFileSync(join(folder, 'user', 'node_modules', PACKAGE, 'package.json'), 'utf8')) as { version: string }
    expect(version).toBe((JSON.parse(readFileSync(join(CHECKOUT, 'package.json'), 'utf8')) as { version: string }).version)
  })
})
