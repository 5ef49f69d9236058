import type { Node, NodeAPI, NodeDef, NodeMessageInFlow } from 'node-red'
import { numberIn, textOf } from '../../src/service/node-red/config-text.js'
import { asError, LineNode } from '../../src/service/node-red/line-node.js'
import { LoneChartNode } from '../../src/service/node-red/lone-chart-node.js'
import { foundText, numberOf } from '../../src/service/node-red/message-input.js'

export interface ControlChartDef extends NodeDef {
  readonly line: string
  readonly feature: string
  readonly property: string
  readonly byTopic: boolean | string
  readonly learn: number | string
  readonly falseEvery: number | string
}

export default function register(RED: NodeAPI): void {
  function ControlChart(this: Node, def: ControlChartDef): void {
    RED.nodes.createNode(this, def)
    if (textOf(def.line) === '') chartAlone(RED, this, def)
    else chartOfLine(RED, this, def)
  }
  RED.nodes.registerType('control-chart', ControlChart)
}

function chartAlone(RED: NodeAPI, node: Node, def: ControlChartDef): void {
  const learn = numberIn(def.learn ?? 300, { min: 30, max: 100_000 })
  const falseEvery = numberIn(def.falseEvery ?? 10_000, { min: 50, max: 10_000_000 })
  if (learn === undefined || !Number.isInteger(learn) || falseEvery === undefined) {
    node.status({ fill: 'red', shape: 'ring', text: RED._('control-chart.error.config') })
    node.error(RED._('control-chart.error.config'))
    node.on('input', (_msg: NodeMessageInFlow, _send, done) => done(new Error(RED._('control-chart.error.config'))))
    return
  }
  const chart = new LoneChartNode(RED, node, { property: textOf(def.property) || 'payload', byTopic: textOf(def.byTopic) === 'true', design: { learn, falseEvery } })
  node.on('input', (msg: NodeMessageInFlow, send, done) => {
    chart.take(msg, send).then(() => done(), (error: unknown) => done(asError(error)))
  })
  node.on('close', (removed: boolean, done: (error?: Error) => void) => {
    chart.close(removed).then(() => done(), done)
  })
}

function chartOfLine(RED: NodeAPI, node: Node, def: ControlChartDef): void {
  const feature = textOf(def.feature)
  const line = new LineNode(RED, node, {
    lineNodeId: def.line,
    stage: 'charts',
    ports: { point: 0, 'rule-hit': 1, signal: 2, 'rule-end': 3 },
    watches: ['baseline'],
    ...(feature === '' ? {} : { filter: (output) => 'feature' in output.body && output.body.feature === feature }),
    badge: (port) => {
      const now = port.runningLine?.projection
      if (now === undefined || now.dataMs === undefined) return { fill: 'grey', shape: 'ring', text: RED._('control-chart.status.waiting') }
      if (now.standingSignalCount > 0) return { fill: 'yellow', shape: 'dot', text: RED._('control-chart.status.line-signal', { count: String(now.standingSignalCount) }) }
      const { learning, provisional, accepted } = now.baselineCounts()
      const ready = String(provisional + accepted)
      if (learning > 0 || ready === '0') return { fill: 'grey', shape: 'ring', text: RED._('control-chart.status.line-learning', { learning: String(learning), ready }) }
      return { fill: 'green', shape: 'dot', text: RED._('control-chart.status.line-quiet', { ready }) }
    },
  })
  const property = textOf(def.property) || 'payload'

  node.on('input', (msg: NodeMessageInFlow & { feature?: unknown; time?: unknown }, _send, done) => {
    if (line.isOwn(msg)) {
      done()
      return
    }
    const named = typeof msg.feature === 'string' && msg.feature !== '' ? msg.feature : feature || (typeof msg.topic === 'string' ? msg.topic : '')
    const found: unknown = RED.util.getMessageProperty(msg, property)
    const number = numberOf(found, msg.time, Date.now())
    if (number === undefined || named === '') {
      done(new Error(number === undefined ? RED._('control-chart.error.not-a-number', { property, found: foundText(found) }) : RED._('control-chart.error.no-feature')))
      return
    }
    Promise.resolve()
      .then(() => line.requirePort().submit({ kind: 'feature', feature: named, ...number }))
      .then(() => done(), (error: unknown) => done(asError(error)))
  })

  node.on('close', (done: () => void) => {
    line.detach()
    done()
  })
}
