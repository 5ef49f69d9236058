import type { ChangeFact } from '../changes/change-fact.js'
import type { Disturbance } from './proof-state.js'

/** What a change can have moved, where it is neither a cleaning nor a recipe; undefined where it moves no feature of a proof. */
export function disturbanceOf(fact: ChangeFact): Disturbance | undefined {
  const { timeMs, change, channel, zone } = fact
  switch (change) {
    case 'set-point': {
      const zoneOfChannel = channel === undefined ? undefined : /^preheat\.zone-(\d+)\./.exec(channel)?.[1]
      if (zoneOfChannel !== undefined) return { timeMs, reason: 'proof.set-point-changed', section: 'preheat', zone: Number(zoneOfChannel) }
      if (channel?.startsWith('pot.') === true) return { timeMs, reason: 'proof.set-point-changed', section: 'pot' }
      // The conveyor's speed changes what every section shows.
      return { timeMs, reason: 'proof.set-point-changed', ...(zone === undefined ? {} : { section: 'preheat' as const, zone }) }
    }
    case 'exhaust-work':
      return { timeMs, reason: 'proof.exhaust-changed', section: 'preheat' }
    case 'flux-lot':
      return { timeMs, reason: 'proof.lot-changed', section: 'fluxer' }
    case 'alloy-lot':
      return { timeMs, reason: 'proof.lot-changed', section: 'pot' }
    case 'sensor-replaced':
      return { timeMs, reason: 'proof.sensor-replaced', ...(zone === undefined ? {} : { section: 'preheat' as const, zone }) }
    default:
      return undefined
  }
}
