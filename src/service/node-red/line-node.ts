import type { Node, NodeAPI, NodeMessage, NodeStatus } from 'node-red'
import type { Stage } from '../../monitor/line-event.js'
import type { LineOutput, LineOutputKind } from '../../monitor/line-output.js'
import type { StoredOutput } from '../../ports/line-store.js'
import type { LinePort, PortState } from '../line-port.js'
import { outputJson } from '../output-json.js'

/** Shortest time between two changes of a badge; accelerated lines would flood the editor. */
const BADGE_EVERY_MS = 1000

/** A msg that carries a committed fact of a line. */
export interface SolderMessage extends NodeMessage {
  readonly solder: { readonly line: string; readonly seq: number }
}

/** What a `solder-line` config node offers the nodes that name it. */
export interface SolderLineNode extends Node {
  readonly port: LinePort
  /** State of the line as a badge, in the language of the runtime. */
  badge(state: PortState): NodeStatus
}

export interface LineNodeOptions {
  readonly lineNodeId: string
  /** The stage this node is for; none for a node that only brings something in. */
  readonly stage?: Stage
  /** Which output port each kind leaves on. */
  readonly ports: Partial<Record<LineOutputKind, number>>
  /** Lets an output through; all without it. */
  readonly filter?: (output: LineOutput) => boolean
  /** Kinds the badge follows besides those that are sent. */
  readonly watches?: readonly LineOutputKind[]
  readonly onOutput?: (stored: StoredOutput) => void
  /** Badge while the line is at work. */
  readonly badge: (port: LinePort) => NodeStatus
}

/**
 * Makes a node a port of its line: it sends the line's committed outputs, shows its badge and lets go when it is
 * closed. The node's own `close` handler must call `detach`.
 */
export class LineNode {
  readonly port: LinePort | undefined
  private readonly ends: (() => void)[] = []
  private badgeTimer: ReturnType<typeof setTimeout> | undefined
  private badgeDueMs = 0

  constructor(
    RED: NodeAPI,
    private readonly node: Node,
    private readonly options: LineNodeOptions,
  ) {
    const lineNode = RED.nodes.getNode(options.lineNodeId) as SolderLineNode | null
    this.port = lineNode?.port
    if (lineNode === null || this.port === undefined) {
      node.status({ fill: 'red', shape: 'ring', text: RED._('node-red:common.status.error') })
      return
    }
    const { port } = this
    if (options.stage !== undefined) port.nameStage(node.id, options.stage)
    const sent = Object.keys(options.ports) as LineOutputKind[]
    this.ends.push(port.onOutput([...new Set([...sent, ...(options.watches ?? [])])], (stored) => this.take(stored)))
    this.ends.push(port.onState((state) => {
      if (state.kind === 'connected' || state.kind === 'wires') this.showBadge()
      else node.status(lineNode.badge(state))
    }))
  }

  /** @throws Error if no line is chosen, or the config node is missing */
  requirePort(): LinePort {
    if (this.port === undefined) throw new Error('no solder-line is chosen, or it does not exist')
    return this.port
  }

  /** Whether a msg carries a fact of this very line, which the runtime has already. */
  isOwn(msg: object): boolean {
    const solder: unknown = 'solder' in msg ? msg.solder : undefined
    return typeof solder === 'object' && solder !== null && 'line' in solder && solder.line === this.port?.line
  }

  detach(): void {
    clearTimeout(this.badgeTimer)
    for (const end of this.ends) end()
    this.port?.forgetStage(this.node.id)
  }

  private take(stored: StoredOutput): void {
    if (this.options.filter?.(stored.output) === false) return
    this.options.onOutput?.(stored)
    const output = this.options.ports[stored.output.kind]
    if (output !== undefined && isWired(this.node, output)) {
      const messages: (SolderMessage | null)[] = []
      while (messages.length < output) messages.push(null)
      messages.push(solderMessage(stored))
      this.node.send(messages)
    }
    this.showBadge()
  }

  private showBadge(): void {
    if (this.badgeTimer !== undefined || this.port === undefined) return
    const { port } = this
    const waitMs = Math.max(0, this.badgeDueMs - Date.now())
    this.badgeTimer = setTimeout(() => {
      this.badgeTimer = undefined
      this.badgeDueMs = Date.now() + BADGE_EVERY_MS
      const { kind } = port.state
      if (kind === 'connected' || kind === 'wires') this.node.status(this.options.badge(port))
    }, waitMs)
  }
}

export function solderMessage(stored: StoredOutput): SolderMessage {
  const { line, seq, output } = stored
  return { topic: `${line}/${subjectOf(output)}`, payload: outputJson(output), solder: { line, seq } } as SolderMessage
}

function subjectOf(output: LineOutput): string {
  switch (output.kind) {
    case 'reading':
      return output.body.channel
    case 'feature':
    case 'point':
    case 'rule-hit':
    case 'rule-end':
    case 'signal':
    case 'baseline':
      return output.body.feature
    default:
      return output.kind
  }
}

/** Making a message nobody gets costs more than the step that brought it out. */
function isWired(node: Node, output: number): boolean {
  const { wires } = node as Node & { readonly wires?: readonly (readonly string[])[] }
  return wires === undefined || (wires[output]?.length ?? 0) > 0
}

export function asError(error: unknown): Error {
  return error instanceof Error ? error : new Error(String(error))
}
