import type { TrackState } from './channel-track.js'
import { CUSTOM_WINDOW_S_MIN } from './board-specs.js'
import type { Collector, Give } from './slot.js'

export interface CustomState {
  windowMs: number
  sum: number
  n: number
}

export function createCustomState(): CustomState {
  return { windowMs: 0, sum: 0, n: 0 }
}

/** Values at least this share of the window apart are each a value of their own. */
const OWN_SHARE = 0.7

/** A channel of the site's own: each reading as it is, or means of a minute where readings come faster. Any state counts. */
export function createCustomValue(channel: string, track: TrackState, windowS: number, state: CustomState): Collector & { flush(give: Give): void } {
  const feature = `${channel}.value`
  const spanMs = Math.max(windowS, CUSTOM_WINDOW_S_MIN) * 1000
  const closeWindow = (give: Give): void => {
    if (state.n > 0) give(feature, state.windowMs + spanMs, state.sum / state.n, Math.min(1, (state.n * track.periodS * 1000) / spanMs))
    state.sum = 0
    state.n = 0
  }
  return {
    channels: [channel],
    take(_index, timeMs, value, give) {
      const windowMs = Math.floor(timeMs / spanMs) * spanMs
      if (state.n > 0 && windowMs !== state.windowMs) closeWindow(give)
      if (state.n === 0 && track.periodS * 1000 >= OWN_SHARE * spanMs) {
        give(feature, timeMs, value, 1)
        return
      }
      state.windowMs = windowMs
      state.sum += value
      state.n += 1
    },
    endSlot() {
      // a window of its own length, closed by its own readings
    },
    flush: closeWindow,
  }
}
