import type { Node, NodeAPI, NodeDef, NodeMessageInFlow } from 'node-red'
import { asError, LineNode } from '../../src/service/node-red/line-node.js'
import { takePersonalInput } from '../../src/service/personal-input.js'

export interface MaintenanceQueueDef extends NodeDef {
  readonly line: string
}

export default function register(RED: NodeAPI): void {
  function MaintenanceQueue(this: Node, def: MaintenanceQueueDef): void {
    RED.nodes.createNode(this, def)
    const line = new LineNode(RED, this, {
      lineNodeId: def.line,
      stage: 'queue',
      ports: { suggestion: 0 },
      badge: (port) => {
        const count = port.runningLine?.projection.openSuggestions().length ?? 0
        if (count === 0) return { fill: 'green', shape: 'ring', text: RED._('maintenance-queue.status.empty') }
        return { fill: 'yellow', shape: 'dot', text: RED._('maintenance-queue.status.open', { count: String(count) }) }
      },
    })

    this.on('input', (msg: NodeMessageInFlow, _send, done) => {
      if (line.isOwn(msg)) {
        done()
        return
      }
      Promise.resolve()
        .then(() => takePersonalInput(line.requirePort(), msg.payload))
        .then(
          (outcome) => {
            if (outcome.kind === 'taken') done()
            else done(new Error(outcome.kind === 'unknown' ? RED._('maintenance-queue.error.unknown') : outcome.message))
          },
          (error: unknown) => done(asError(error)),
        )
    })

    this.on('close', (done: () => void) => {
      line.detach()
      done()
    })
  }
  RED.nodes.registerType('maintenance-queue', MaintenanceQueue)
}
