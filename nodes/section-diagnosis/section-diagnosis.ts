import type { Node, NodeAPI, NodeDef, NodeMessageInFlow, NodeStatus } from 'node-red'
import { LineNode } from '../../src/service/node-red/line-node.js'

export interface SectionDiagnosisDef extends NodeDef {
  readonly line: string
}

export default function register(RED: NodeAPI): void {
  function SectionDiagnosis(this: Node, def: SectionDiagnosisDef): void {
    RED.nodes.createNode(this, def)
    let status: NodeStatus = { fill: 'green', shape: 'ring', text: RED._('section-diagnosis.status.quiet') }
    const line = new LineNode(RED, this, {
      lineNodeId: def.line,
      stage: 'diagnosis',
      ports: { diagnosis: 0 },
      watches: ['signal'],
      onOutput: ({ output }) => {
        if (output.kind !== 'diagnosis') return
        const [lead] = output.body.causes
        status =
          lead === undefined || output.body.abstains
            ? { fill: 'yellow', shape: 'ring', text: RED._('section-diagnosis.status.undecided') }
            : { fill: lead.kind === 'benign' ? 'green' : 'yellow', shape: 'dot', text: RED._(`section-diagnosis.status.${lead.probability >= 0.95 ? 'cause-most' : 'cause'}`, { cause: lead.cause, tenths: String(Math.round(lead.probability * 10)) }) }
      },
      badge: (port) => {
        // What was said before a restart is over once no signal stands any more.
        const standing = port.runningLine?.projection.standingSignalCount ?? 0
        return standing === 0 ? { fill: 'green', shape: 'ring', text: RED._('section-diagnosis.status.quiet') } : status
      },
    })

    this.on('input', (msg: NodeMessageInFlow, _send, done) => {
      if (line.isOwn(msg)) done()
      else done(new Error(RED._('section-diagnosis.error.nothing-in')))
    })

    this.on('close', (done: () => void) => {
      line.detach()
      done()
    })
  }
  RED.nodes.registerType('section-diagnosis', SectionDiagnosis)
}
