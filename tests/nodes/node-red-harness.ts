import { mkdtempSync, rmSync } from 'node:fs'
import { createRequire } from 'node:module'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Node } from 'node-red'
import helper from 'node-red-node-test-helper'
import { afterAll, afterEach, beforeAll, beforeEach } from 'vitest'
import controlChart from '../../nodes/control-chart/control-chart.js'
import lineSimulator from '../../nodes/line-simulator/line-simulator.js'
import lineTelemetry from '../../nodes/line-telemetry/line-telemetry.js'
import maintenanceQueue from '../../nodes/maintenance-queue/maintenance-queue.js'
import maintenanceRecord from '../../nodes/maintenance-record/maintenance-record.js'
import sectionDiagnosis from '../../nodes/section-diagnosis/section-diagnosis.js'
import solderLine from '../../nodes/solder-line/solder-line.js'
import type { SolderLineNode } from '../../src/service/node-red/line-node.js'

const require = createRequire(import.meta.url)
helper.init(require.resolve('node-red'), {} as never)

const NODES = [solderLine, lineTelemetry, controlChart, sectionDiagnosis, maintenanceQueue, maintenanceRecord, lineSimulator]

export interface FlowNode {
  readonly id: string
  readonly type: string
  readonly [property: string]: unknown
}

export type Received = Record<string, unknown> & { readonly payload: Record<string, unknown>; readonly solder?: { readonly line: string; readonly seq: number } }

/** A real Node-RED runtime with this package's nodes and a data folder of its own for each test. */
export function useNodeRed(): { readonly folder: () => string } {
  let folder = ''
  beforeAll(() => new Promise<void>((resolve) => helper.startServer(() => resolve())))
  afterAll(() => new Promise<void>((resolve) => helper.stopServer(() => resolve())))
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'nodes-'))
    process.env['WAVE_SPC_DATA'] = folder
  })
  afterEach(async () => {
    await helper.unload()
    rmSync(folder, { recursive: true, force: true })
    delete process.env['WAVE_SPC_DATA']
  })
  return { folder: () => folder }
}

/** Starts a flow; core nodes such as catch and complete may be among its nodes. */
export async function load(flow: readonly FlowNode[], credentials: Record<string, unknown> = {}): Promise<void> {
  const core = [...new Set(flow.map(({ type }) => type))].flatMap((type) => (Object.hasOwn(CORE_FILES, type) ? [require(require.resolve('node-red').replace(/node-red\/lib\/red\.js$/, `@node-red/nodes/core/${CORE_FILES[type] ?? ''}`)) as never] : []))
  const nodes = flow.map((entry) => (entry.type === 'solder-line' ? entry : { z: 'tab', x: 100, y: 100, ...entry }))
  await helper.load([...core, ...NODES] as never, [{ id: 'tab', type: 'tab', label: 'test' }, ...nodes] as never, credentials as never)
}

const CORE_FILES: Readonly<Record<string, string>> = {
  catch: 'common/25-catch.js',
  complete: 'common/24-complete.js',
  function: 'function/10-function.js',
}

export async function unload(): Promise<void> {
  await helper.unload()
}

export function node(id: string): Node {
  return helper.getNode(id) as unknown as Node
}

export function lineNode(id: string): SolderLineNode {
  return helper.getNode(id) as unknown as SolderLineNode
}

/** All messages a helper node has received. */
export function collect(id: string): Received[] {
  const received: Received[] = []
  node(id).on('input', (msg, _send, done) => {
    received.push(msg as unknown as Received)
    done()
  })
  return received
}

/** Badges a node has shown, the newest last. */
export function badges(id: string): { readonly fill?: string; readonly shape?: string; readonly text?: string }[] {
  const shown: { fill?: string; shape?: string; text?: string }[] = []
  node(id).on('call:status' as never, ((call: { args: [{ fill?: string; shape?: string; text?: string }] }) => shown.push(call.args[0])) as never)
  return shown
}

/** What nodes reported with node.error so far. */
export function errors(): string[] {
  const { args } = helper.log() as unknown as { args: [{ level: number; msg: unknown }][] }
  return args.map(([event]) => event).filter(({ level }) => level === 20).map(({ msg }) => (msg instanceof Error ? msg.message : String(msg)))
}

/** A line of one channel of its own, without a broker. */
export function benchLine(overrides: Record<string, unknown> = {}): FlowNode {
  const definition = { line: 'bench', simulated: true, channels: [{ channel: 'custom.temperature', periodS: 60 }, { channel: 'pot.level' }, { channel: 'line.state' }], ...overrides }
  return { id: 'line', type: 'solder-line', name: '', source: 'json', definition: JSON.stringify(definition), file: '', broker: '' }
}

const START_MS = Date.UTC(2026, 2, 2)

/** One value a minute around 60, never periodic, the same at every run; from `shiftAt` on 5 higher. */
export function benchValue(index: number, shiftAt = Infinity): { readonly channel: string; readonly payload: number; readonly time: string } {
  const spread = [1, 2, 3, 4].reduce((sum, factor) => sum + (((index * factor * 0.6180339887) % 1) - 0.5), 0)
  return { channel: 'custom.temperature', payload: 60 + spread + (index >= shiftAt ? 5 : 0), time: new Date(START_MS + index * 60_000).toISOString() }
}
