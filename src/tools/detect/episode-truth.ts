import type { FaultEpisode } from '../../simulator/simulation-config.js'
import type { SimulationTruth, TruthMoment } from '../../simulator/simulation-truth.js'

/** The truth is noted every ten minutes. */
const MOMENT_MS = 600_000
const MOMENTS_PER_HOUR = 6
/** A production day is 16 h of production. */
export const PRODUCTION_DAY_HOURS = 16

/** Times, hours and severities of one simulated line, from its hidden truth. */
export class EpisodeTruth {
  constructor(private readonly truth: SimulationTruth) {}

  onsetMs({ onsetHours }: FaultEpisode): number {
    return this.truth.startMs + Math.round(onsetHours * 3_600_000)
  }

  severityAt({ cause, zone }: FaultEpisode, timeMs: number): number {
    const moment = this.truth.moments.findLast((one) => one.timeMs <= timeMs)
    return moment?.severities.find((one) => one.cause === cause && one.zone === zone)?.severity ?? 0
  }

  /** Highest severity of any of the causes, wherever they sit. */
  worstSeverityAt(causes: readonly string[], timeMs: number): number {
    const moment = this.truth.moments.findLast((one) => one.timeMs <= timeMs)
    return moment?.severities.reduce((worst, one) => (causes.includes(one.cause) ? Math.max(worst, one.severity) : worst), 0) ?? 0
  }

  timeOfSeverity({ cause, zone }: FaultEpisode, severity: number): number | undefined {
    return this.truth.moments.find((moment) => moment.severities.some((one) => one.cause === cause && one.zone === zone && one.severity >= severity))?.timeMs
  }

  productionHours(fromMs: number, untilMs: number): number {
    return this.producing(fromMs, untilMs).length / MOMENTS_PER_HOUR
  }

  productionDays(fromMs: number, untilMs: number): number {
    return this.productionHours(fromMs, untilMs) / PRODUCTION_DAY_HOURS
  }

  private producing(fromMs: number, untilMs: number): readonly TruthMoment[] {
    return this.truth.moments.filter(({ timeMs, state }) => state === 'production' && timeMs - MOMENT_MS >= fromMs && timeMs <= untilMs)
  }
}
