import { drawSite } from './draw-site.js'
import { isSimulatedFault } from './simulation-causes.js'
import { checkConfig, type MaintenanceWork, type SimulationConfig } from './simulation-config.js'
import type { SimulationTruth } from './simulation-truth.js'
import { SimulatedLine } from './simulated-line.js'
import { referenceSite, type SiteParameters } from './site-parameters.js'
import { TelemetryOutput, type SimulatedSample } from './telemetry-output.js'

export type { SimulatedSample } from './telemetry-output.js'

export interface Simulation {
  readonly config: SimulationConfig
  readonly site: SiteParameters
  /** Channel ids that are published, in order. */
  readonly channels: readonly string[]
  /** The same with the time between values; `perBoard`: one value per board, at no fixed period. */
  readonly published: readonly { readonly channel: string; readonly periodS: number; readonly perBoard: boolean }[]
  /** Simulated time, ms UTC. */
  readonly timeMs: number
  /**
   * The next logging tick with at least one value, in time order; undefined at the end. The sample and its arrays are used again
   * at the next call: copy what is to be kept.
   */
  next(): SimulatedSample | undefined
  /** Work done on the line now: cleaning, repair, lubrication, bars. */
  perform(work: Omit<MaintenanceWork, 'atHours'>): void
}

interface OpenSimulation extends Simulation {
  readonly line: SimulatedLine
}

/**
 * A simulated line that publishes telemetry. The same configuration gives the same bytes; the channels and their periods do not
 * change the physics.
 *
 * @throws Error when the configuration is wrong: what, where, what was expected
 */
export function createSimulation(config: SimulationConfig): Simulation {
  checkConfig(config, isSimulatedFault)
  const site = siteOf(config)
  const line = new SimulatedLine(config, site)
  const output = new TelemetryOutput(config, site, line)
  const endS = Math.round(config.durationHours * 3600)
  const simulation: OpenSimulation = {
    config,
    site,
    channels: output.published.map(({ channel }) => channel),
    published: output.published,
    line,
    get timeMs() {
      return line.timeMs
    },
    next() {
      while (line.elapsedS < endS) {
        const repeated = output.repeat()
        if (repeated !== undefined) return repeated
        line.step()
        const sample = output.sample()
        if (sample !== undefined) return sample
      }
      return undefined
    },
    perform(work) {
      line.schedule.request({ ...work, atHours: line.elapsedS / 3600 })
    },
  }
  return simulation
}

/** The hidden truth: of a simulation as far as it has run, or of a configuration run to its end. */
export function truthOf(source: Simulation | SimulationConfig): SimulationTruth {
  if ('next' in source) return (source as OpenSimulation).line.truth()
  const line = new SimulatedLine(source, siteOf(source))
  const endS = Math.round(source.durationHours * 3600)
  while (line.elapsedS < endS) line.step()
  return line.truth()
}

/** The plant a configuration describes. */
export function siteOf(config: SimulationConfig): SiteParameters {
  if (config.site === 'drawn') return drawSite(config.seed)
  return { ...referenceSite(), ...config.site }
}
