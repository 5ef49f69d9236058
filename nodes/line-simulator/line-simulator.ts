import { randomInt } from 'node:crypto'
import type { Node, NodeAPI, NodeDef, NodeMessageInFlow, NodeStatus } from 'node-red'
import { parseSimulatorConfig } from '../../src/service/node-red/line-simulator-config.js'
import { asError, type SolderLineNode } from '../../src/service/node-red/line-node.js'
import { isoTime } from '../../src/service/output-json.js'
import { SimulatorDrive, type DriveState } from '../../src/service/simulator-drive.js'

export interface LineSimulatorDef extends NodeDef {
  readonly line: string
  readonly plant: string
  readonly seed: string | number
  readonly speed: string | number
  readonly autostart: boolean | string
}

export default function register(RED: NodeAPI): void {
  function LineSimulator(this: Node, def: LineSimulatorDef): void {
    RED.nodes.createNode(this, def)
    const config = parseSimulatorConfig(def)
    const port = (RED.nodes.getNode(def.line) as SolderLineNode | null)?.port
    const fault =
      config === undefined
        ? RED._('line-simulator.error.config')
        : port?.definition?.simulated !== true
          ? RED._('line-simulator.error.not-simulated', { line: port?.line ?? '?' })
          : undefined
    if (config === undefined || port === undefined || fault !== undefined) {
      const message = fault ?? RED._('line-simulator.error.config')
      this.status({ fill: 'red', shape: 'ring', text: message })
      this.error(message)
      this.on('input', (_msg: NodeMessageInFlow, _send, done) => done(new Error(message)))
      return
    }

    const drive = new SimulatorDrive({
      port,
      ...config,
      key: `line-simulator/${this.id}`,
      drawSeed: () => randomInt(1, 1_000_000),
      onState: (state) => {
        this.status(badge(RED, state))
        this.send({ topic: 'simulated-clock', payload: { time: isoTime(state.timeMs), running: state.kind === 'running', ended: state.kind === 'ended' } })
      },
    })
    const start = (): void => {
      drive.start().catch((error: unknown) => {
        this.status({ fill: 'red', shape: 'ring', text: RED._('line-simulator.status.failed') })
        this.error(asError(error).message)
      })
    }
    if (config.autostart) start()

    this.on('input', (msg: NodeMessageInFlow, _send, done) => {
      const { payload } = msg
      if (payload === 'start' || payload === true) {
        start()
        done()
      } else if (payload === 'stop' || payload === false) {
        drive.stop().then(() => done(), (error: unknown) => done(asError(error)))
      } else {
        done(new Error(RED._('line-simulator.error.command')))
      }
    })

    this.on('close', (_removed: boolean, done: (error?: Error) => void) => {
      drive.close().then(() => done(), done)
    })
  }
  RED.nodes.registerType('line-simulator', LineSimulator)
}

function badge(RED: NodeAPI, state: DriveState): NodeStatus {
  const time = isoTime(state.timeMs).slice(0, 16).replace('T', ' ')
  switch (state.kind) {
    case 'running':
      return { fill: 'blue', shape: 'dot', text: RED._('line-simulator.status.running', { time, speed: String(state.speed) }) }
    case 'catching-up':
      return { fill: 'yellow', shape: 'ring', text: RED._('line-simulator.status.catching-up', { time }) }
    case 'stopped':
    case 'ended':
      return { fill: 'grey', shape: 'ring', text: RED._(`line-simulator.status.${state.kind}`, { time }) }
  }
}
