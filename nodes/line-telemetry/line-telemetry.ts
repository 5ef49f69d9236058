import type { Node, NodeAPI, NodeDef, NodeMessageInFlow } from 'node-red'
import { asError, LineNode } from '../../src/service/node-red/line-node.js'
import { textOf } from '../../src/service/node-red/config-text.js'
import { telemetryInput } from '../../src/service/node-red/message-input.js'
import { isoTime } from '../../src/service/output-json.js'

export interface LineTelemetryDef extends NodeDef {
  readonly line: string
  readonly channel: string
}

export default function register(RED: NodeAPI): void {
  function LineTelemetry(this: Node, def: LineTelemetryDef): void {
    RED.nodes.createNode(this, def)
    const channel = textOf(def.channel)
    const line = new LineNode(RED, this, {
      lineNodeId: def.line,
      stage: 'telemetry',
      ports: { reading: 0, feature: 1, state: 2, rejected: 3 },
      badge: (port) => {
        const now = port.runningLine?.projection
        if (now?.dataMs === undefined) return { fill: 'grey', shape: 'ring', text: RED._('line-telemetry.status.waiting') }
        return { fill: 'green', shape: 'dot', text: RED._('line-telemetry.status.running', { state: now.state, time: isoTime(now.dataMs).slice(0, 16) }) }
      },
    })

    this.on('input', (msg: NodeMessageInFlow, _send, done) => {
      if (line.isOwn(msg)) {
        done()
        return
      }
      const parsed = telemetryInput(msg as unknown as Record<string, unknown>, channel)
      if (parsed.kind === 'fault') {
        done(new Error(RED._(`line-telemetry.error.${parsed.key}`)))
        return
      }
      Promise.resolve()
        .then(() => line.requirePort().submit(parsed.input))
        .then(() => done(), (error: unknown) => done(asError(error)))
    })

    this.on('close', (done: () => void) => {
      line.detach()
      done()
    })
  }
  RED.nodes.registerType('line-telemetry', LineTelemetry)
}
