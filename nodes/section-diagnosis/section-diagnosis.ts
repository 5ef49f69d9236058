import type { Node, NodeAPI, NodeDef, NodeMessageInFlow, NodeStatus } from 'node-red'
import { causeWords } from '../../src/service/node-red/cause-words.js'
import { LineNode } from '../../src/service/node-red/line-node.js'

export interface SectionDiagnosisDef extends NodeDef {
  readonly line: string
}

export default function register(RED: NodeAPI): void {
  function SectionDiagnosis(this: Node, def: SectionDiagnosisDef): void {
    RED.nodes.createNode(this, def)
    const say = (key: string, values?: Record<string, string>): string => RED._(`section-diagnosis.status.${key}`, values ?? {})
    let status: NodeStatus = { fill: 'grey', shape: 'ring', text: say('learning') }
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
            ? { fill: 'yellow', shape: 'ring', text: say('undecided') }
            : { fill: lead.kind === 'benign' ? 'green' : 'yellow', shape: 'dot', text: say(lead.probability >= 0.95 ? 'cause-most' : 'cause', { cause: causeWords(lead.cause, RED._('section-diagnosis.language')), tenths: String(Math.round(lead.probability * 10)) }) }
      },
      badge: (port) => {
        const projection = port.runningLine?.projection
        // What was said before a restart is over once no signal stands any more.
        if (projection !== undefined && projection.standingSignalCount > 0) return status
        const { provisional, accepted } = projection?.baselineCounts() ?? { provisional: 0, accepted: 0 }
        // As long as no chart knows what is normal, quiet means nothing.
        return provisional + accepted === 0 ? { fill: 'grey', shape: 'ring', text: say('learning') } : { fill: 'green', shape: 'ring', text: say('quiet') }
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
