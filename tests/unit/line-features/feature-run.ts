import type { FeatureValue, LineStateName } from '../../../src/line/feature-value.js'
import type { FeatureSpec } from '../../../src/line/features/feature-catalogue.js'
import { createFeatureSet, type FeatureSet, type WindowContext } from '../../../src/line/features/feature-set.js'
import { parseLineDefinition, type LineDefinition, type LineDefinitionInput } from '../../../src/line/line-definition.js'
import type { Reading } from '../../../src/line/reading.js'

/** A Monday, 06:00 UTC: a whole multiple of an hour. */
export const START_MS = Date.UTC(2026, 0, 5, 6)

export interface TakenValue extends FeatureValue, WindowContext {}

export function lineWith(channels: LineDefinitionInput['channels'], machine: LineDefinitionInput['machine'] = {}): LineDefinition {
  const result = parseLineDefinition({ line: 'line-a', machine, channels })
  if (result.kind !== 'definition') throw new Error(JSON.stringify(result.faults))
  return result.definition
}

/** Numbers in [0, 1) that are the same at every run (mulberry32). */
export function seeded(seed: number): () => number {
  let state = seed >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let mixed = Math.imul(state ^ (state >>> 15), state | 1)
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)) ^ mixed
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296
  }
}

/** Counts of a Poisson number, from a seeded source. */
export function poisson(random: () => number): (mean: number) => number {
  return (mean) => {
    const limit = Math.exp(-mean)
    let count = 0
    for (let product = random(); product > limit; product *= random()) count += 1
    return count
  }
}

/** Normal numbers of mean 0 and sd 1 (Box and Muller). */
export function normal(random: () => number): () => number {
  return () => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random())
}

export interface Phase {
  readonly fromS: number
  readonly state: LineStateName
  readonly recipe: string
}

export const PRODUCING: readonly Phase[] = [{ fromS: 0, state: 'production', recipe: 'board-a' }]

/** Feeds readings under the state of their time. */
export class FeatureRun {
  readonly values: TakenValue[] = []
  readonly specs = new Map<string, FeatureSpec>()
  readonly features: FeatureSet

  constructor(
    definition: LineDefinition,
    private readonly phases: readonly Phase[] = PRODUCING,
    snapshot?: unknown,
  ) {
    this.features = createFeatureSet(definition, snapshot)
  }

  private readonly emit = (value: FeatureValue, spec: FeatureSpec, context: WindowContext): void => {
    this.values.push({ ...value, ...context })
    this.specs.set(spec.feature, spec)
  }

  take(readings: Iterable<Reading>): this {
    for (const reading of readings) {
      const phase = this.phases.findLast(({ fromS }) => reading.timeMs >= START_MS + fromS * 1000) ?? this.phases[0]!
      this.features.take(reading, { state: phase.state, recipe: phase.recipe, stateSinceMs: START_MS + phase.fromS * 1000 }, this.emit)
    }
    return this
  }

  flush(): this {
    this.features.flush(this.emit)
    return this
  }

  of(feature: string): number[] {
    return this.values.filter((value) => value.feature === feature).map(({ value }) => value)
  }

  takenOf(feature: string): TakenValue[] {
    return this.values.filter((value) => value.feature === feature)
  }
}

/** A channel sampled at a fixed period: `at` gives its value for the second since the start, undefined where it is missing. */
export function* sampled(channel: string, periodS: number, fromS: number, toS: number, at: (second: number) => number | undefined): Generator<Reading> {
  for (let step = 0; ; step += 1) {
    const second = fromS + step * periodS
    if (second >= toS) return
    const value = at(second)
    if (value !== undefined) yield { channel, timeMs: START_MS + Math.round(second * 1000), value }
  }
}

/** Several channels in the order of time; channels of one moment in the order given. */
export function inOrder(...sources: Iterable<Reading>[]): Reading[] {
  return sources.flatMap((source) => [...source]).sort((a, b) => a.timeMs - b.timeMs)
}

export function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length
}

export function rounded(value: number, step: number): number {
  return Math.round(value / step) * step
}
