import type { Node, NodeAPI, NodeDef, NodeStatus } from 'node-red'
import { LinePort, type PortState } from '../../src/service/line-port.js'
import { dataFolderOf, mountHttp, settleWhenFlowsStart } from '../../src/service/node-red/host.js'
import { parseSolderLineConfig } from '../../src/service/node-red/solder-line-config.js'
import type { SolderLineNode } from '../../src/service/node-red/line-node.js'

export interface SolderLineDef extends NodeDef {
  readonly source: string
  readonly definition: string
  readonly file: string
  readonly broker: string
}

export interface SolderLineCredentials {
  readonly user?: string
  readonly password?: string
}

export default function register(RED: NodeAPI): void {
  mountHttp(RED)
  const settles = settleWhenFlowsStart(RED)

  function SolderLine(this: Node<{ user: unknown; password: unknown }>, def: SolderLineDef): void {
    RED.nodes.createNode(this, def)
    const config = parseSolderLineConfig(def, (this.credentials as SolderLineCredentials | undefined) ?? {})
    if (config.definition.kind === 'faulty') this.error(config.definition.message)
    const port = new LinePort({ ...config, dataFolder: dataFolderOf(RED), log: (message) => this.warn(message) })
    settles.add(port)
    Object.assign(this, { port, badge: (state: PortState) => badge(RED, state) } satisfies Pick<SolderLineNode, 'port' | 'badge'>)

    this.on('close', (removed: boolean, done: (error?: Error) => void) => {
      settles.delete(port)
      port.close(removed).then(() => done(), done)
    })
  }
  RED.nodes.registerType('solder-line', SolderLine, { credentials: { user: { type: 'text' }, password: { type: 'password' } } })
}

function badge(RED: NodeAPI, state: PortState): NodeStatus {
  const text = RED._(`solder-line.status.${state.kind}`)
  switch (state.kind) {
    case 'connected':
    case 'wires':
      return { fill: 'green', shape: 'dot', text }
    case 'starting':
    case 'connecting':
      return { fill: 'yellow', shape: 'ring', text }
    case 'paused':
    case 'faulty':
    case 'failed':
      return { fill: 'red', shape: 'ring', text }
  }
}
