import { parseLineDefinition } from '../../line/line-definition.js'
import { invisibleFaults } from '../../line/diagnosis/visibility.js'
import { createLineMonitor } from '../../monitor/line-monitor.js'
import type { LineEvent } from '../../monitor/line-event.js'
import type { LineOutput } from '../../monitor/line-output.js'
import { drawScenario, type ScenarioRequest } from '../../simulator/draw-scenario.js'
import { describeLine } from '../../simulator/line-description.js'
import { createSimulation, truthOf } from '../../simulator/simulation.js'
import type { SimulationTruth } from '../../simulator/simulation-truth.js'
import type { EpisodeResult, ScoredSuggestion } from './detection-score.js'

/** Sections of the causes as the trade has them; the simulator does not know them. */
const SECTION_OF: Readonly<Record<string, string>> = {
  'clogged-nozzle': 'fluxer', 'misoriented-nozzle': 'fluxer', 'leaking-seal': 'fluxer', 'saturated-filter': 'fluxer', 'bad-flux-hose': 'fluxer', 'dosing-off': 'fluxer', 'stroke-too-wide': 'fluxer',
  'clogged-blower': 'preheat', 'coated-emitter': 'preheat', 'blocked-vents': 'preheat', 'coated-thermocouple': 'preheat',
  'dirty-rails': 'transport', 'dirty-chain': 'transport', 'dry-chain': 'transport', 'sticky-grease': 'transport', 'residue-on-fingers': 'transport', 'worn-sprocket': 'transport', 'worn-bearing': 'transport', 'worn-drive': 'transport',
  'low-level': 'pot', 'dross-at-intake': 'pot', 'drifting-pot-probe': 'pot',
}

export interface EpisodeRequest extends ScenarioRequest {
  /** Called with every output, for a closer look. */
  readonly watch?: (output: LineOutput) => void
}

/** Simulates one drawn line, runs the whole monitor over its telemetry, and notes what it suggested beside the truth. */
export function runEpisode(request: EpisodeRequest): EpisodeResult {
  const config = drawScenario(request)
  const simulation = createSimulation(config)
  const parsed = parseLineDefinition(describeLine(simulation, { line: `line-${request.seed}` }))
  if (parsed.kind === 'faults') throw new Error(`line of seed ${request.seed}: ${JSON.stringify(parsed.faults)}`)
  const { definition } = parsed
  const monitor = createLineMonitor(definition)
  const raised = new Map<string, LineOutput & { kind: 'suggestion' }>()
  const emit = (output: LineOutput): void => {
    request.watch?.(output)
    if (output.kind === 'suggestion' && !raised.has(output.body.id)) raised.set(output.body.id, output)
  }
  let seq = 0
  const take = (timeMs: number, channel: string, value: number | string): void => {
    seq += 1
    monitor.step({ kind: 'value', seq, receivedMs: timeMs, channel, value, time: timeMs } as LineEvent, emit)
  }
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
    for (const [channel, value] of sample.values) take(sample.timeMs, channel, value)
    for (const [channel, value, timeMs] of sample.delayed) take(timeMs, channel, value)
  }
  monitor.step({ kind: 'end-of-data', seq: seq + 1, receivedMs: simulation.timeMs }, emit)
  return resultOf(request, truthOf(simulation), [...raised.values()], new Set<string>(invisibleFaults(definition)))
}

function resultOf(request: EpisodeRequest, truth: SimulationTruth, raised: readonly (LineOutput & { kind: 'suggestion' })[], invisible: ReadonlySet<string>): EpisodeResult {
  const fault = truth.faults[0]
  const producing = truth.moments.filter((moment) => moment.state === 'production')
  const days = (count: number): number => (count * 600) / (16 * 3600)
  const onsetMs = fault?.onsetMs ?? Number.MAX_SAFE_INTEGER
  const cause = fault?.cause ?? ''
  return {
    seed: request.seed,
    channels: String(request.channels),
    cause,
    ...(fault?.zone === undefined ? {} : { zone: fault.zone }),
    section: cause === 'ageing-element' ? (fault?.zone === undefined ? 'pot' : 'preheat') : (SECTION_OF[cause] ?? ''),
    observable: cause !== '' && !invisible.has(cause),
    productionDays: days(producing.length),
    healthyDays: days(producing.filter((moment) => moment.timeMs < onsetMs).length),
    onsetMs,
    suggestions: raised.map(({ body }): ScoredSuggestion => ({
      raisedMs: body.raisedMs,
      section: body.section,
      ...(body.zone === undefined ? {} : { zone: body.zone }),
      severity: severityAt(truth, cause, body.raisedMs),
      causes: body.causes.map(({ cause: id, members, probability }) => ({ cause: id, members: members ?? [id], probability })),
    })),
  }
}

function severityAt(truth: SimulationTruth, cause: string, timeMs: number): number {
  const moment = truth.moments.findLast((one) => one.timeMs <= timeMs)
  return moment?.severities.find((one) => one.cause === cause)?.severity ?? 0
}
