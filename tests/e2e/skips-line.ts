import { parseLineDefinition, type LineDefinition, type LineDefinitionInput } from '../../src/line/line-definition.js'
import { samplesAsMessage } from '../../src/simulator/demo-line.js'
import { describeLine } from '../../src/simulator/line-description.js'
import { createSimulation, type Simulation } from '../../src/simulator/simulation.js'
import type { SimulationConfig } from '../../src/simulator/simulation-config.js'
import { referenceSite } from '../../src/simulator/site-parameters.js'
import type { RunningLine } from '../../src/service/running-line.js'
import type { Site } from '../../src/service/site.js'

export const HOUR = 3_600_000
const START_MS = Date.UTC(2026, 0, 5)
/** The nozzle is taken off for cleaning, and a day later it has begun to clog. */
export const NOZZLE_WORK_HOURS = 86
const ONSET_HOURS = 104

/** A line with the minimum channels and the inspection's skips: nothing on it sees the fluxer. */
function config(): SimulationConfig {
  const site = referenceSite()
  return {
    seed: 11,
    startMs: START_MS,
    durationHours: 12 * 24,
    channels: ['preheat.zone-1.temperature', 'preheat.zone-2.temperature', 'preheat.zone-3.temperature', 'preheat.zone-1.setpoint', 'preheat.zone-2.setpoint', 'preheat.zone-3.setpoint', 'conveyor.speed', 'conveyor.setpoint', 'pot.level', 'board.count', 'board.defects.skip', 'line.recipe'],
    periodsS: { 'conveyor.speed': 10, 'preheat.zone-<n>.temperature': 20, 'pot.level': 60, 'board.count': 60 },
    thermalStepS: 1,
    site: { ...site, habits: { ...site.habits, workdays: [0, 1, 2, 3, 4, 5, 6], changeoversPerShift: [0, 0] } },
    faults: [{ cause: 'clogged-nozzle', onsetHours: ONSET_HOURS, growthHours: 10 }],
    benign: { changeovers: false },
  }
}

/** A simulated line at a site, fed as fast as it is taken. */
export class SkipsLine {
  private constructor(
    readonly line: RunningLine,
    readonly simulation: Simulation,
  ) {}

  static open(site: Site, input: Partial<LineDefinitionInput> = {}): SkipsLine {
    const simulation = createSimulation(config())
    const parsed = parseLineDefinition({ ...describeLine(simulation, { line: 'north-1', title: 'North 1' }), rounds: { values: { 'weigh-dose.grams': { target: 4.2 } } }, ...input })
    if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
    return new SkipsLine(site.openLine({ definition: parsed.definition, stages: undefined, mqtt: false }), simulation)
  }

  get definition(): LineDefinition {
    return this.line.definition
  }

  /** Feeds until a condition holds, looked at every simulated half hour or so. @throws Error if the simulation ends before */
  async feedUntil(holds: () => boolean, what: string): Promise<void> {
    while (!holds()) {
      const ticks: string[] = []
      const fromMs = this.simulation.timeMs
      while (this.simulation.timeMs - fromMs < HOUR / 2) {
        const sample = this.simulation.next()
        if (sample === undefined) throw new Error(`the simulated line has ended before ${what}`)
        if (sample.values.length > 0) ticks.push(samplesAsMessage(sample))
        // what the inspection finds comes later, with the time of its board
        for (const [channel, value, timeMs] of sample.delayed) ticks.push(JSON.stringify({ t: timeMs, v: { [channel]: value } }))
      }
      const { seq } = await this.line.submit({ kind: 'message', topic: 'wave-solder/north-1/telemetry', payload: `[${ticks.join(',')}]` })
      await this.line.stepped(seq)
    }
  }

  async feedTo(hours: number): Promise<void> {
    await this.feedUntil(() => this.simulation.timeMs >= START_MS + hours * HOUR, `hour ${hours}`)
  }
}
