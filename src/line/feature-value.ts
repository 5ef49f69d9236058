/** A number computed from the readings of one window: what the charts plot. */
export interface FeatureValue {
  /** Id in the feature catalogue, e.g. `preheat.zone-2.temperature.slow`. */
  readonly feature: string
  /** End of the window, ms UTC. */
  readonly timeMs: number
  /** In the unit the catalogue gives; always finite. */
  readonly value: number
  /** Share of the window that held usable readings, 0-1. */
  readonly weight: number
}

/** States of a line. Charts learn and judge in `production`; start-up features in `warm-up`; the rest explains. */
export type LineStateName = 'off' | 'warm-up' | 'settling' | 'production' | 'idle' | 'changeover' | 'maintenance' | 'run-in'

/** The four sections in the order a board travels; `line` for what belongs to none of them. */
export type Section = 'fluxer' | 'preheat' | 'transport' | 'pot' | 'line'
