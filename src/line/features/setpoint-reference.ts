import type { TrackState } from './channel-track.js'

/** How a mean is judged: against its set-point, or plainly where none is published. Chosen once. Plain JSON. */
export interface SetpointReference {
  mode: 'open' | 'set-point' | 'plain'
}

export function createReference(): SetpointReference {
  return { mode: 'open' }
}

/**
 * The set-point to take off a mean. A line that names the channel waits for it; one that takes all channels there could
 * be decides at its first value, so that a late set-point cannot shift the feature from one scale to another.
 *
 * @returns `plain` where there is none, `waiting` where it is named but has not come
 */
export function setpointNow(reference: SetpointReference, track: TrackState | undefined, isExplicit: boolean): number | 'plain' | 'waiting' {
  const seen = track !== undefined && track.lastMs > 0
  if (reference.mode === 'open') {
    if (seen) reference.mode = 'set-point'
    else if (isExplicit) return 'waiting'
    else reference.mode = 'plain'
  }
  if (reference.mode === 'plain') return 'plain'
  return seen ? track.last : 'waiting'
}
