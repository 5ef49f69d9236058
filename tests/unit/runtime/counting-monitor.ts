import type { LineDefinition } from '../../../src/line/line-definition.js'
import type { LineEvent } from '../../../src/monitor/line-event.js'
import type { EmitOutput, LineMonitor } from '../../../src/monitor/line-output.js'

export interface CountingState {
  count: number
  hash: number
  title: string
  log: string[]
}

/**
 * A monitor whose every output depends on all events before it: a lost, doubled or reordered event shows in the hash.
 * A value or payload `throw` makes it throw halfway through, with its state already spoilt.
 */
export function createCountingMonitor(definition: LineDefinition, snapshot?: unknown): LineMonitor {
  const state: CountingState =
    snapshot === undefined ? { count: 0, hash: 7, title: definition.title ?? '', log: [] } : (JSON.parse(JSON.stringify(snapshot)) as CountingState)
  return {
    step: (event, emit) => stepCounting(state, event, emit),
    // The live object, as a real monitor may give it: whoever keeps it must copy it.
    snapshot: () => state,
  }
}

function stepCounting(state: CountingState, event: LineEvent, emit: EmitOutput): void {
  state.count += 1
  state.hash = hashOf(state.hash, JSON.stringify(event))
  if (event.kind === 'definition') state.title = event.definition.title ?? ''
  if (event.kind === 'stages') state.log.push(event.stages.join(' '))
  const value = event.kind === 'value' ? event.value : event.kind === 'message' ? event.payload : undefined
  const timeMs = event.receivedMs
  emit({ kind: 'reading', body: { channel: 'pot.level', timeMs, value: state.hash } })
  if (value === 'throw') throw new Error('the step threw')
  if (value === 'not-finite') emit({ kind: 'note', body: { timeMs, key: 'note.bad', values: { hash: Number.NaN } } })
  if (state.count % 3 !== 0) return
  const baseline = { centre: state.count % 100, lower: -1, upper: 1, sigma: 1, n: state.count, baseline: 'provisional', recipe: state.title, state: 'production' } as const
  emit({ kind: 'point', body: { ...baseline, timeMs, feature: 'pot.level.mean', chart: 'individuals', value: state.hash, statistic: state.count } })
  emit({ kind: 'note', body: { timeMs, key: 'note.hash', values: { hash: state.hash, count: state.count, title: state.title } } })
}

function hashOf(start: number, text: string): number {
  let hash = start
  for (let index = 0; index < text.length; index += 1) hash = (Math.imul(hash, 31) + text.charCodeAt(index)) >>> 0
  return hash
}
