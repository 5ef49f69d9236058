import { existsSync, mkdirSync, renameSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import type { LineDefinition } from '../../line/line-definition.js'
import type { LineMaker } from '../line-maker.js'
import { demoFlow, lineFlow } from './start-flow.js'

interface FlowNode {
  readonly id: string
  readonly type: string
  readonly [key: string]: unknown
}

/** A tab with its nodes and the config nodes it needs, as the flows take it. */
export interface NewFlow {
  readonly label: string
  readonly info: string
  readonly nodes: readonly FlowNode[]
  readonly configs: readonly FlowNode[]
}

/** What the flows of this process can do for it. */
export interface FlowAccess {
  add(flow: NewFlow): Promise<void>
  hasNode(id: string): boolean
}

/** Makes lines as tabs of the embedded flows; each definition is a file of the data folder that its node reads. */
export class FlowLineMaker implements LineMaker {
  /** @param folder where the definitions are kept */
  constructor(
    private readonly folder: string,
    private readonly flows: FlowAccess,
    readonly broker: string,
  ) {}

  get hasDemo(): boolean {
    return demoFlow().some((node) => this.flows.hasNode((node as FlowNode).id))
  }

  owns(line: string): boolean {
    return existsSync(this.fileOf(line))
  }

  async addLine(definition: LineDefinition, broker: string): Promise<void> {
    const { line, title = line } = definition
    const flow = asNewFlow(lineFlow(), { prefix: `made-${line}-`, label: title, line: { source: 'file', file: this.fileOf(line), broker } })
    // A definition that is left of a line whose flow was deleted makes way for the new one.
    if ([...flow.nodes, ...flow.configs].some(({ id, type }) => type === 'solder-line' && this.flows.hasNode(id))) throw new Error(`line "${line}" is there already`)
    this.keepDefinition(definition)
    try {
      await this.flows.add(flow)
    } catch (error) {
      rmSync(this.fileOf(line), { force: true })
      throw error
    }
  }

  keepDefinition(definition: LineDefinition): void {
    mkdirSync(this.folder, { recursive: true })
    // Put in place whole: a node that starts after a power cut must not find half a definition.
    const file = this.fileOf(definition.line)
    writeFileSync(`${file}.new`, `${JSON.stringify(definition, null, 2)}\n`, { flush: true })
    renameSync(`${file}.new`, file)
  }

  async addDemo(): Promise<void> {
    if (this.hasDemo) throw new Error('the demonstration is running already')
    await this.flows.add(asNewFlow(demoFlow(), { prefix: '' }))
  }

  private fileOf(line: string): string {
    return join(this.folder, `${line}.json`)
  }
}

interface FlowChange {
  /** Put before every id, so that the same flow can be there twice. */
  readonly prefix: string
  readonly label?: string
  /** Fields of the line's own node. */
  readonly line?: Readonly<Record<string, unknown>>
}

function asNewFlow(flow: readonly object[], { prefix, label, line }: FlowChange): NewFlow {
  const known = new Set(flow.map((node) => (node as FlowNode).id))
  const renamed = flow.map((node) => renameIds(node, known, prefix) as FlowNode)
  const tab = renamed.find(({ type }) => type === 'tab')
  const rest = renamed.filter(({ type }) => type !== 'tab').map((node) => (node.type === 'solder-line' ? { ...node, ...line } : node))
  return { label: label ?? String(tab?.['label'] ?? 'line'), info: String(tab?.['info'] ?? ''), nodes: rest.filter(isOnTab), configs: rest.filter((node) => !isOnTab(node)) }
}

function isOnTab(node: FlowNode): boolean {
  return 'x' in node
}

/** Every id of the flow, wherever it stands, gets the prefix. */
function renameIds(value: unknown, known: ReadonlySet<string>, prefix: string): unknown {
  if (typeof value === 'string') return known.has(value) ? `${prefix}${value}` : value
  if (Array.isArray(value)) return value.map((item) => renameIds(item, known, prefix))
  if (typeof value === 'object' && value !== null) return Object.fromEntries(Object.entries(value).map(([key, item]) => [key, renameIds(item, known, prefix)]))
  return value
}
