import type { Node, NodeAPI, NodeMessage, NodeStatus } from 'node-red'
import type { LineOutput } from '../../monitor/line-output.js'
import { isoTime, outputJson } from '../output-json.js'
import { STAND_ALONE_CHARTS_MAX, StandAloneChart, type StandAloneDesign, type StandAloneState } from '../stand-alone-chart.js'
import { PROCESS_CHART_FORM } from '../../spc/process-chart.js'
import { dataFolderOf, whenFlowsStarted } from './host.js'
import { foundText, numberOf } from './message-input.js'
import { NodeStateKeeper } from './node-state-keeper.js'

export interface LoneChartConfig {
  readonly property: string
  readonly byTopic: boolean
  readonly design: StandAloneDesign
}

const PORT_OF: Partial<Record<LineOutput['kind'], number>> = { point: 0, 'rule-hit': 1, signal: 2, 'rule-end': 3 }

/** A `control-chart` node without a line: charts any number that comes on its wire. */
export class LoneChartNode {
  private readonly ready: Promise<{ readonly keeper: NodeStateKeeper; readonly chart: StandAloneChart }>

  constructor(
    private readonly RED: NodeAPI,
    private readonly node: Node,
    private readonly config: LoneChartConfig,
  ) {
    // The lines open when the flows have started; only then is it known whether there is a store.
    this.ready = whenFlowsStarted(RED).then(() => this.open())
    this.ready.catch((error: unknown) => node.error(error instanceof Error ? error.message : String(error)))
    node.status({ fill: 'grey', shape: 'ring', text: RED._('control-chart.status.waiting') })
  }

  /** @throws Error (as a rejected promise) that says what is wrong with the msg */
  async take(msg: NodeMessage, send: (messages: (NodeMessage | null)[]) => void): Promise<void> {
    const { keeper, chart } = await this.ready
    const { property, byTopic } = this.config
    const found: unknown = this.RED.util.getMessageProperty(msg, property)
    const number = numberOf(found, 'time' in msg ? msg.time : undefined, Date.now())
    if (number === undefined) throw new Error(this.RED._('control-chart.error.not-a-number', { property, found: foundText(found) }))
    const key = byTopic && typeof msg.topic === 'string' && msg.topic !== '' ? msg.topic : this.node.name || 'value'
    if (chart.isFull(key)) throw new Error(this.RED._('control-chart.error.too-many-topics', { max: String(STAND_ALONE_CHARTS_MAX) }))
    for (const output of chart.take(key, number.timeMs, number.value)) {
      const messages: (NodeMessage | null)[] = []
      const port = PORT_OF[output.kind] ?? 0
      while (messages.length < port) messages.push(null)
      send([...messages, { ...msg, payload: outputJson(output) }])
    }
    keeper.write(() => chart.state())
    this.node.status(this.badge(chart, key, keeper.durable))
  }

  async close(removed: boolean): Promise<void> {
    // A node closed before the flows had started has opened nothing.
    const opened = await Promise.race([this.ready.catch(() => undefined), new Promise<undefined>((resolve) => setImmediate(() => resolve(undefined)))])
    await opened?.keeper.close(removed)
  }

  private async open(): Promise<{ readonly keeper: NodeStateKeeper; readonly chart: StandAloneChart }> {
    const keeper = await NodeStateKeeper.open({ key: `control-chart/${this.node.id}`, dataFolder: dataFolderOf(this.RED), log: (message) => this.node.warn(message) })
    const saved = keeper.read() as StandAloneState | undefined
    if (saved !== undefined && saved.form !== PROCESS_CHART_FORM) this.node.warn(this.RED._('control-chart.warning.form'))
    return { keeper, chart: new StandAloneChart(this.config.design, saved) }
  }

  private badge(chart: StandAloneChart, key: string, durable: boolean): NodeStatus {
    const { RED } = this
    const kept = RED._(`control-chart.status.kept-${durable ? 'store' : 'memory'}`)
    const { learning, n, target, signal } = chart.now(key)
    if (signal !== undefined) return { fill: 'yellow', shape: 'dot', text: RED._('control-chart.status.signal', { side: RED._(`control-chart.status.${signal.side}`), time: isoTime(signal.onsetMs).slice(0, 16), kept }) }
    if (learning) return { fill: 'grey', shape: 'ring', text: RED._('control-chart.status.learning', { n: String(n), target: String(target), kept }) }
    return { fill: 'green', shape: 'dot', text: RED._('control-chart.status.quiet', { kept }) }
  }
}
