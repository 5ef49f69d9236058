import { RandomStream } from '../simulator/random-stream.js'
import type { SimulationConfig } from '../simulator/simulation-config.js'
import { createSimulation } from '../simulator/simulation.js'

/**
 * How many times faster than the clock a simulated line runs, beside drawing the same number of Gaussian numbers as it
 * publishes values. Figures of one run are to be compared with each other only.
 */
const DAYS = 5
const base: SimulationConfig = { seed: 7, startMs: Date.UTC(2026, 0, 5), durationHours: 24 * DAYS, channels: 'minimum', faults: [{ cause: 'dirty-chain', onsetHours: 50, growthHours: 30 }] }

const runs: readonly [string, SimulationConfig][] = [
  ['minimum channels, every second', { ...base, periodsS: { '*': 1 } }],
  ['minimum channels, usual periods', base],
  ['minimum+, drawn plant', { ...base, channels: 'minimum+', site: 'drawn' }],
  ['rich, usual periods', { ...base, channels: 'rich' }],
  ['minimum channels, thermal step of 1 s', { ...base, periodsS: { '*': 1 }, thermalStepS: 1 }],
]

console.log(`${DAYS} simulated days each`)
for (const [name, config] of runs) {
  let values = 0
  const simulation = createSimulation(config)
  const simulatedMs = elapsedMs(() => {
    for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) values += sample.values.length + sample.delayed.length
  })
  const stream = new RandomStream(7, 'bench')
  let sum = 0
  const gaussMs = elapsedMs(() => {
    for (let draw = 0; draw < values; draw += 1) sum += stream.gaussian()
  })
  const timesRealTime = (DAYS * 86_400_000) / simulatedMs
  console.log(
    `${name.padEnd(40)} ${Math.round(timesRealTime).toLocaleString('en-US').padStart(10)} x real time, ${values.toLocaleString('en-US').padStart(10)} values in ${Math.round(simulatedMs)} ms, ${(simulatedMs / gaussMs).toFixed(1)} x the ${Math.round(gaussMs)} ms of as many Gaussian numbers (mean ${(sum / values).toFixed(4)})`,
  )
}

function elapsedMs(work: () => void): number {
  const start = performance.now()
  work()
  return performance.now() - start
}
