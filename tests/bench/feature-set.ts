import { createFeatureSet } from '../../src/line/features/feature-set.js'
import type { Reading } from '../../src/line/reading.js'
import { lineWith, normal, seeded, START_MS } from '../unit/line-features/feature-run.js'

/**
 * Cost of a reading in the feature stage, beside a bare pass over the same readings and beside JSON.parse of their
 * usual payload. Run: npx esbuild tests/bench/feature-set.ts --bundle --platform=node --format=esm | node --input-type=module
 */
const HOURS = 12
const CHANNELS = ['preheat.zone-1.temperature', 'preheat.zone-2.temperature', 'preheat.zone-3.temperature', 'conveyor.speed', 'conveyor.current', 'fluxer.flow', 'fluxer.pressure']
const definition = lineWith(CHANNELS.map((channel) => ({ channel, periodS: 1 })), { conveyor: { chainPitchMm: 25.4, sprocketTeeth: 12, chainLoopM: 12, fingerPitchMm: 50.8 } })
const noise = normal(seeded(1))
const readings: Reading[] = []
for (let second = 0; second < HOURS * 3600; second += 1) {
  CHANNELS.forEach((channel, at) => readings.push({ channel, timeMs: START_MS + second * 1000, value: 20 + 10 * at + 0.2 * noise() }))
}
const payloads = readings.map(({ timeMs, value }) => JSON.stringify({ t: timeMs, v: value }))

function nanosecondsEach(pass: () => void): number {
  pass()
  const begin = process.hrtime.bigint()
  pass()
  return Number(process.hrtime.bigint() - begin) / readings.length
}

let sink = 0
let windows = 0
const context = { state: 'production', recipe: 'a', stateSinceMs: 0 } as const
const bare = nanosecondsEach(() => {
  for (const { timeMs, value } of readings) sink += timeMs + (value as number)
})
const parsed = nanosecondsEach(() => {
  for (const payload of payloads) sink += (JSON.parse(payload) as { v: number }).v
})
const taken = nanosecondsEach(() => {
  const features = createFeatureSet(definition)
  for (const reading of readings) features.take(reading, context, () => (windows += 1))
})
const features = createFeatureSet(definition)
for (const reading of readings) features.take(reading, context, () => undefined)
const snapshotBytes = JSON.stringify(features.snapshot()).length
console.log(`${readings.length} readings, ${windows / 2} feature values, snapshot ${snapshotBytes} bytes, checksum ${sink.toExponential(3)}`)
console.log(`bare pass ${bare.toFixed(0)} ns, JSON.parse of the payload ${parsed.toFixed(0)} ns, features ${taken.toFixed(0)} ns each (${(taken / parsed).toFixed(2)} of a parse)`)
