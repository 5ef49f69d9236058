// What counts of defects can tell at best of the faults that show in nothing else: a test told the moment, the course and the levels.
//   node dist/src/tools/bench-counts.js [--first SEED] [--lines N] [--cause ID]
// Prints, by fault, the standard errors that test has by severity 0.8 (faults that are there at once: within 16 h of production).
import { parseArgs } from 'node:util'
import { drawScenario } from '../simulator/draw-scenario.js'
import { createSimulation, truthOf } from '../simulator/simulation.js'
import { EpisodeTruth } from './detect/episode-truth.js'
import { STEP_HOURS_LIMIT } from './detect/detection-score.js'
import { idealCountErrors, type BoardCount } from './detect/ideal-counts.js'

const CAUSES = [
  { name: 'misoriented-nozzle', cause: 'misoriented-nozzle' },
  { name: 'dosing-off, narrow fan', cause: 'dosing-off', variant: 'narrow-fan' },
  { name: 'residue-on-fingers', cause: 'residue-on-fingers' },
  // its share of the pot's duty, a hundredth or two, is within what boards make of it
  { name: 'drifting-pot-probe, reads high', cause: 'drifting-pot-probe', variant: 'reads-high' },
] as const
const IN_TIME = 0.8
const QUARTER_MS = 900_000
/** Standard errors that a suspicion of counts alone needs, some five kinds looked at every hour: one false suggestion in 100 production days. [ASM] */
const NEEDED = 4

function errorsOf(seed: number, { cause, ...more }: (typeof CAUSES)[number]): number | undefined {
  const config = drawScenario({ seed, kind: 'fault', channels: 'rich', cause, onset: 'early', severityEnd: 1, days: 16, sleepsWhenOff: true })
  const fault = config.faults[0]!
  if ('variant' in more) fault.variant = more.variant
  const simulation = createSimulation(config)
  const counts: BoardCount[] = []
  let recipe = ''
  const take = (channel: string, value: number | string, timeMs: number): void => {
    if (channel === 'line.recipe') recipe = String(value)
    else if (channel.startsWith('board.defects.')) counts.push({ timeMs, kind: channel, recipe, count: Number(value) })
  }
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
    for (const [channel, value] of sample.values) take(channel, value, sample.timeMs)
    for (const [channel, value, timeMs] of sample.delayed) take(channel, value, timeMs)
  }
  const truth = new EpisodeTruth(truthOf(simulation))
  const onsetMs = truth.onsetMs(fault)
  const isStep = fault.growthHours === 0
  const weightAt = (timeMs: number): number => {
    if (isStep) return truth.productionHours(onsetMs, timeMs) <= STEP_HOURS_LIMIT ? 1 : 0
    const severity = truth.severityAt(fault, timeMs)
    return severity < IN_TIME ? severity : 0
  }
  // Severity changes by a hundredth in a quarter of an hour at most.
  const weights = new Map<number, number>()
  return idealCountErrors(counts, onsetMs, (timeMs) => {
    const quarter = Math.floor(timeMs / QUARTER_MS)
    let weight = weights.get(quarter)
    if (weight === undefined) weights.set(quarter, (weight = weightAt(quarter * QUARTER_MS)))
    return weight
  })
}

const { values } = parseArgs({ options: { first: { type: 'string', default: '9400' }, lines: { type: 'string', default: '20' }, cause: { type: 'string' } } })
console.log(`| fault | lines | standard errors: lower quartile / median / upper quartile | share with ${NEEDED} or more |`)
console.log('|---|---|---|---|')
for (const kind of CAUSES.filter(({ cause }) => values.cause === undefined || cause === values.cause)) {
  const errors = Array.from({ length: Number(values.lines) }, (_, index) => errorsOf(Number(values.first) + index, kind)).flatMap((one) => one ?? []).sort((a, b) => a - b)
  const at = (share: number): string => (errors[Math.floor(share * (errors.length - 1))] ?? 0).toFixed(1)
  console.log(`| ${kind.name} | ${errors.length} | ${at(0.25)} / ${at(0.5)} / ${at(0.75)} | ${((100 * errors.filter((one) => one >= NEEDED).length) / Math.max(1, errors.length)).toFixed(0)} % |`)
}
