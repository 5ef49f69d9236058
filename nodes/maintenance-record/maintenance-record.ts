import type { Node, NodeAPI, NodeDef, NodeMessageInFlow } from 'node-red'
import { isOpenJob } from '../../src/maintenance/jobs/job-steps.js'
import { asError, LineNode } from '../../src/service/node-red/line-node.js'
import { takePersonalInput } from '../../src/service/personal-input.js'

export interface MaintenanceRecordDef extends NodeDef {
  readonly line: string
}

/** Facts that leave: what was done, what stands, whether it helped, what was refused. */
const SENT: readonly string[] = ['record', 'job', 'proof', 'refused']

export default function register(RED: NodeAPI): void {
  function MaintenanceRecord(this: Node, def: MaintenanceRecordDef): void {
    RED.nodes.createNode(this, def)
    const line = new LineNode(RED, this, {
      lineNodeId: def.line,
      stage: 'queue',
      ports: { fact: 0 },
      filter: (output) => output.kind === 'fact' && SENT.includes(output.body.type),
      badge: (port) => {
        const open = (port.runningLine?.projection.factsOf('job') ?? []).filter(isOpenJob)
        if (open.some(({ doNotStart }) => doNotStart !== undefined)) return { fill: 'red', shape: 'dot', text: RED._('maintenance-record.status.do-not-start') }
        if (open.length === 0) return { fill: 'green', shape: 'ring', text: RED._('maintenance-record.status.empty') }
        return { fill: 'yellow', shape: 'dot', text: RED._('maintenance-record.status.open', { count: String(open.length) }) }
      },
    })

    this.on('input', (msg: NodeMessageInFlow, _send, done) => {
      if (line.isOwn(msg)) {
        done()
        return
      }
      Promise.resolve()
        .then(() => {
          const port = line.requirePort()
          return takePersonalInput(port, msg.payload, port.runningLine?.nowMs())
        })
        .then(
          (outcome) => {
            if (outcome.kind === 'taken') done()
            else done(new Error(outcome.kind === 'unknown' ? RED._('maintenance-record.error.unknown') : outcome.message))
          },
          (error: unknown) => done(asError(error)),
        )
    })

    this.on('close', (done: () => void) => {
      line.detach()
      done()
    })
  }
  RED.nodes.registerType('maintenance-record', MaintenanceRecord)
}
