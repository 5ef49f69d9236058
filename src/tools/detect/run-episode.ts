import { featureCatalogue } from '../../line/features/feature-catalogue.js'
import { parseLineDefinition } from '../../line/line-definition.js'
import { createLineMonitor } from '../../monitor/line-monitor.js'
import type { LineEvent } from '../../monitor/line-event.js'
import type { LineOutput } from '../../monitor/line-output.js'
import { drawScenario, type ScenarioRequest } from '../../simulator/draw-scenario.js'
import { describeLine } from '../../simulator/line-description.js'
import { sectionOfFault, type SimulatedFault } from '../../simulator/simulation-causes.js'
import type { FaultEpisode, SimulationConfig } from '../../simulator/simulation-config.js'
import { createSimulation, truthOf, type Simulation } from '../../simulator/simulation.js'
import { invisibleOn, observabilityOf, type ObservingLine } from './observability.js'
import { STEP_HOURS_LIMIT, type EpisodeResult, type ScoredSuggestion, type TrueFault } from './detection-score.js'
import { EpisodeTruth } from './episode-truth.js'
import { oracleFinding, type OracleValue } from './oracle.js'
import { NaivePractice, UnconfirmedPractice, type NaiveSuggestion } from './yardstick.js'

export interface EpisodeRequest extends ScenarioRequest {
  /** Called with every output, for a closer look. */
  readonly watch?: (output: LineOutput) => void
  /** End the episode once all that the score needs has been seen; default false: the whole span. */
  readonly stopEarly?: boolean
}

/** Looked at this often for the end of an episode. */
const LOOK_EVERY_MS = 3_600_000
/** Share of its final severity that a suggested fault must reach, and hours a suggested step must stand. */
const SHOWN_SHARE = 0.7
const SHOWN_HOURS = 4
/** A fault nobody has suggested is waited for so long after it has come to its end, production hours. */
const WAIT_HOURS = 8

type RaisedSuggestion = (LineOutput & { kind: 'suggestion' })['body']

/** Simulates one drawn line, runs the whole monitor over its telemetry, and notes what it suggested beside the truth. */
export function runEpisode(request: EpisodeRequest): EpisodeResult {
  const config = drawScenario(request)
  const simulation = createSimulation(config)
  const parsed = parseLineDefinition(describeLine(simulation, { line: `line-${request.seed}` }))
  if (parsed.kind === 'faults') throw new Error(`line of seed ${request.seed}: ${JSON.stringify(parsed.faults)}`)
  const monitor = createLineMonitor(parsed.definition)
  const specOf = new Map(featureCatalogue(parsed.definition).map((spec) => [spec.feature, spec]))
  const raised = new Map<string, RaisedSuggestion>()
  const features = new Map<string, OracleValue[]>()
  const naive = new NaivePractice()
  const unconfirmed = new UnconfirmedPractice()
  const emit = (output: LineOutput): void => {
    request.watch?.(output)
    if (output.kind === 'reading') {
      if (typeof output.body.value === 'number') naive.take(output.body.channel, output.body.timeMs, output.body.value)
    } else if (output.kind === 'feature') {
      noteFeature(features, output.body)
      if (naive.producing) unconfirmed.pass(output.body.timeMs)
    }
    else if (output.kind === 'state') naive.producing = output.body.state === 'production'
    else if (output.kind === 'signal') {
      const spec = specOf.get(output.body.feature)
      if (spec !== undefined) unconfirmed.take(spec, output.body)
    } else if (output.kind === 'suggestion' && !raised.has(output.body.id)) raised.set(output.body.id, output.body)
  }
  let seq = 0
  const take = (timeMs: number, channel: string, value: number | string): void => {
    seq += 1
    monitor.step({ kind: 'value', seq, receivedMs: timeMs, channel, value, time: timeMs } as LineEvent, emit)
  }
  let lookMs = config.startMs + LOOK_EVERY_MS
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
    for (const [channel, value] of sample.values) take(sample.timeMs, channel, value)
    for (const [channel, value, timeMs] of sample.delayed) take(timeMs, channel, value)
    if (request.stopEarly !== true || sample.trueMs < lookMs) continue
    lookMs = sample.trueMs + LOOK_EVERY_MS
    if (isOver(config, simulation, [...raised.values()])) break
  }
  monitor.step({ kind: 'end-of-data', seq: seq + 1, receivedMs: simulation.timeMs }, emit)
  return resultOf(request, simulation, { raised: [...raised.values()], naive: naive.suggestions, unconfirmed: unconfirmed.suggestions }, features)
}

function noteFeature(features: Map<string, OracleValue[]>, { feature, timeMs, value, recipe }: (LineOutput & { kind: 'feature' })['body']): void {
  let values = features.get(feature)
  if (values === undefined) features.set(feature, (values = []))
  values.push({ timeMs, value, recipe })
}

/** Each fault has been suggested and shown enough of itself for the oracle, or has come to its end and been waited for. */
function isOver({ faults }: SimulationConfig, simulation: Simulation, raised: readonly RaisedSuggestion[]): boolean {
  if (faults.length === 0) return false
  const truth = new EpisodeTruth(truthOf(simulation))
  return faults.every((fault) => {
    const suggested = raised.some((suggestion) => suggestion.raisedMs >= truth.onsetMs(fault) && suggestion.section === sectionOf(fault))
    const severity = (fault.severityEnd ?? 1) * (suggested ? SHOWN_SHARE : 0.99)
    const reachedMs = truth.timeOfSeverity(fault, severity)
    if (reachedMs === undefined) return false
    const waitHours = fault.growthHours === 0 ? (suggested ? SHOWN_HOURS : STEP_HOURS_LIMIT) : suggested ? 0 : WAIT_HOURS
    return truth.productionHours(reachedMs, simulation.timeMs) >= waitHours
  })
}

function sectionOf(fault: FaultEpisode): string {
  return sectionOfFault(fault.cause as SimulatedFault, fault.zone)
}

interface Said {
  readonly raised: readonly RaisedSuggestion[]
  readonly naive: readonly NaiveSuggestion[]
  readonly unconfirmed: readonly NaiveSuggestion[]
}

function resultOf(request: EpisodeRequest, simulation: Simulation, { raised, naive, unconfirmed }: Said, features: ReadonlyMap<string, readonly OracleValue[]>): EpisodeResult {
  const truth = new EpisodeTruth(truthOf(simulation))
  const line: ObservingLine = {
    channels: simulation.channels,
    speedSensor: simulation.site.conveyor.speedSensor,
    speedPeriodS: simulation.published.find(({ channel }) => channel === 'conveyor.speed')?.periodS ?? Infinity,
  }
  const faults = simulation.config.faults.map((fault): TrueFault => {
    const onsetMs = truth.onsetMs(fault)
    const oracle = oracleOf(fault, truth, features)
    return {
      cause: fault.cause,
      ...(fault.zone === undefined ? {} : { zone: fault.zone }),
      section: sectionOf(fault),
      ...(fault.variant === undefined ? {} : { variant: fault.variant }),
      observability: observabilityOf({ ...fault, cause: fault.cause as SimulatedFault }, line),
      step: fault.growthHours === 0 || fault.variant === 'bent' || fault.variant === 'leg-lost',
      onsetMs,
      ...(oracle === undefined ? {} : { oracle }),
    }
  })
  const firstOnsetMs = faults.reduce((first, { onsetMs }) => Math.min(first, onsetMs), Number.MAX_SAFE_INTEGER)
  const severitiesAt = (timeMs: number): Pick<ScoredSuggestion, 'day' | 'severities' | 'hours'> => ({
    day: truth.productionDays(0, timeMs),
    severities: simulation.config.faults.map((fault) => truth.severityAt(fault, timeMs)),
    hours: faults.map(({ onsetMs }) => truth.productionHours(onsetMs, timeMs)),
  })
  const scored = ({ raisedMs, section }: NaiveSuggestion): ScoredSuggestion => ({ raisedMs, section, ...severitiesAt(raisedMs), leadSeverity: 0, causes: [] })
  return {
    seed: request.seed,
    channels: String(request.channels),
    kind: request.kind,
    faults,
    invisible: invisibleOn(line),
    productionDays: truth.productionDays(0, Number.MAX_SAFE_INTEGER),
    healthyDays: truth.productionDays(0, firstOnsetMs),
    suggestions: raised.map((body): ScoredSuggestion => ({
      raisedMs: body.raisedMs,
      section: body.section,
      ...(body.zone === undefined ? {} : { zone: body.zone }),
      ...severitiesAt(body.raisedMs),
      leadSeverity: truth.worstSeverityAt(body.causes[0]?.members ?? [body.causes[0]?.cause ?? ''], body.raisedMs),
      causes: body.causes.map(({ cause: id, members, probability }) => ({ cause: id, members: members ?? [id], probability })),
    })),
    naive: naive.map(scored),
    unconfirmed: unconfirmed.map(scored),
  }
}

function oracleOf(fault: FaultEpisode, truth: EpisodeTruth, features: ReadonlyMap<string, readonly OracleValue[]>): TrueFault['oracle'] {
  const onsetMs = truth.onsetMs(fault)
  const halfMs = truth.timeOfSeverity(fault, 0.5)
  if (halfMs === undefined) return undefined
  const found = oracleFinding({ features, cause: fault.cause as SimulatedFault, ...(fault.zone === undefined ? {} : { zone: fault.zone }), onsetMs, halfMs, endMs: Number.MAX_SAFE_INTEGER, daysBefore: truth.productionDays(0, onsetMs) })
  if (found === undefined) return undefined
  const { foundMs, ...rest } = found
  return { ...rest, ...(foundMs === undefined ? {} : { hours: truth.productionHours(onsetMs, foundMs), severity: truth.severityAt(fault, foundMs) }) }
}
