import type { LineStateName } from '../feature-value.js'

/** The line went from one state to another, or its recipe changed within a state. */
export interface LineStateChange {
  readonly timeMs: number
  readonly state: LineStateName
  readonly previous: LineStateName
  readonly recipe: string
  /** Text key of what decided, e.g. `state.by-zones`. */
  readonly because: string
}
