import type { LineDefinition } from '../../src/line/line-definition.js'
import type { LineEvent, LineInput } from '../../src/monitor/line-event.js'
import type { EmitOutput, LineMonitor } from '../../src/monitor/line-output.js'

interface ChainState {
  hash: number
  count: number
}

/** Input number `number` of a test stream; every 53rd makes the step throw. */
export function inputOf(number: number): LineInput {
  return { kind: 'value', channel: 'pot.level', value: number % 53 === 0 ? `throw ${number}` : number }
}

/** A monitor that says for each event which it was and chains it to all before it. */
export function createChainMonitor(_definition: LineDefinition, snapshot?: unknown): LineMonitor {
  const state: ChainState = snapshot === undefined ? { hash: 1, count: 0 } : { ...(snapshot as ChainState) }
  return { step: (event, emit) => stepChain(state, event, emit), snapshot: () => state }
}

function stepChain(state: ChainState, event: LineEvent, emit: EmitOutput): void {
  const value = event.kind === 'value' ? String(event.value) : event.kind
  state.count += 1
  for (let index = 0; index < value.length; index += 1) state.hash = (Math.imul(state.hash, 31) + value.charCodeAt(index)) >>> 0
  emit({ kind: 'note', body: { timeMs: event.receivedMs, key: 'note.chain', values: { value, hash: state.hash } } })
  const limits = { centre: 0, lower: -1, upper: 1, sigma: 1, n: state.count, recipe: '', state: 'production', baseline: 'provisional' } as const
  emit({ kind: 'point', body: { ...limits, timeMs: event.receivedMs, feature: 'pot.level.mean', chart: 'individuals', value: state.hash, statistic: state.count } })
  if (value.startsWith('throw')) throw new Error(value)
}
