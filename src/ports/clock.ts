/** The only source of the time of day; the pure folders have none. */
export interface Clock {
  /** ms UTC */
  nowMs(): number
}
