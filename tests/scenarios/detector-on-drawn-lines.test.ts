import { describe, expect, it } from 'vitest'
import type { SimulatedFault } from '../../src/simulator/simulation-causes.js'
import { casesOf, falseSuggestions, scoreDetections, type EpisodeResult } from '../../src/tools/detect/detection-score.js'
import { runEpisode, type EpisodeRequest } from '../../src/tools/detect/run-episode.js'

/** Tuning seeds: the reporting seeds are for the long run alone. */
const FIRST_SEED = 20_001
const common = { kind: 'fault', onset: 'early', severityEnd: 1, days: 16, stopEarly: true, sleepsWhenOff: true } as const

function run(channels: EpisodeRequest['channels'], causes: readonly SimulatedFault[], offset: number): EpisodeResult[] {
  return causes.map((cause, index) => runEpisode({ ...common, channels, cause, seed: FIRST_SEED + offset + index }))
}

const told = (results: readonly EpisodeResult[]): string => JSON.stringify(casesOf(results).map(({ fault, first, right, index }) => ({ fault: fault.cause, first: first?.causes[0]?.cause, severity: right?.severities[index] })))

/** The small brother of `npm run bench:detect`; its bounds lie a few standard errors below what the long run shows. */
describe('the detector on lines drawn from the simulator', () => {
  it('temperatures, speed and level: most of what they can show, in the right section, and nothing they cannot', () => {
    const visible = run('minimum', ['coated-thermocouple', 'dirty-chain', 'low-level', 'worn-sprocket', 'dry-chain'], 0)
    const hidden = run('minimum', ['clogged-nozzle'], 100)
    const score = scoreDetections([...visible, ...hidden])
    expect(casesOf(visible).filter(({ inTime }) => inTime).length, told(visible)).toBeGreaterThanOrEqual(3)
    expect(score.section.value, told(visible)).toBeGreaterThanOrEqual(0.6)
    expect(score.causeFirst.value, told(visible)).toBeGreaterThanOrEqual(0.5)
    expect(score.invisibleClaimed).toBe(0)
  }, 900_000)

  it('all channels: most faults early, in the right section', () => {
    const results = run('rich', ['clogged-nozzle', 'dirty-chain', 'dross-at-intake'], 200)
    const score = scoreDetections(results)
    expect(casesOf(results).filter(({ inTime }) => inTime).length, told(results)).toBeGreaterThanOrEqual(2)
    expect(score.section.value, told(results)).toBeGreaterThanOrEqual(0.6)
    expect(score.severity.value, told(results)).toBeLessThanOrEqual(0.6)
  }, 900_000)

  it('a healthy line with all that an ordinary fortnight brings: hardly a suggestion', () => {
    const results = [runEpisode({ seed: FIRST_SEED + 300, kind: 'healthy', channels: 'minimum', days: 14, sleepsWhenOff: true })]
    expect(results.flatMap((result) => falseSuggestions(result)).length).toBeLessThanOrEqual(1)
    expect(results.every(({ naive }) => naive.length > 5)).toBe(true) // textbook charts tell every day
    // its own charts, which look at fewer and better things, signal now and then
    expect(results.every(({ unconfirmed, naive }) => unconfirmed.length > 0 && unconfirmed.length < naive.length)).toBe(true)
  }, 900_000)
})
