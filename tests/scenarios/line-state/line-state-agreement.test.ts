import { describe, expect, test } from 'vitest'
import { channelKindOf } from '../../../src/line/channels.js'
import { parseLineDefinition } from '../../../src/line/line-definition.js'
import { createLineStateTracker, type LineStateChange } from '../../../src/line/state/line-state.js'
import { describeLine } from '../../../src/simulator/line-description.js'
import { drawScenario, type ScenarioRequest } from '../../../src/simulator/draw-scenario.js'
import { createSimulation, truthOf } from '../../../src/simulator/simulation.js'

/** How the tracker did on one drawn plant, counted minute by minute. */
interface Agreement {
  readonly agreeing: number
  /** Share of true production that was taken for it. */
  readonly productionFound: number
  /** Share of true production under the recipe's most frequent name. */
  readonly recipeKept: number
}

const SETTLE_MINUTES = 15

function follow(request: ScenarioRequest): Agreement {
  const simulation = createSimulation(drawScenario(request))
  const parsed = parseLineDefinition(describeLine(simulation, { line: 'line-a' }))
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  const tracker = createLineStateTracker(parsed.definition)
  const changes: LineStateChange[] = []
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
    for (const [channel, value] of sample.values) {
      const kind = channelKindOf(channel)?.channelKind
      // Readings outside the channel's range are refused before they come here.
      if (kind === undefined || (typeof value === 'number' && !(value >= kind.possibleMin && value <= kind.possibleMax))) continue
      tracker.take({ channel, timeMs: sample.timeMs, value }, (change) => changes.push(change))
    }
  }
  return compare(truthOf(simulation), changes, request.channels === 'minimum' && simulation.site.conveyor.runsWhileIdle)
}

/**
 * The tracker waits for a settled line where the simulated crew starts at once, so its `settling` after a changeover counts
 * as agreement for a quarter of an hour. Maintenance is known from a record or the machine's word only: at a standing line it
 * looks like idle. Where the chain runs on without boards, temperatures, speed and level cannot tell idle from production
 * (the level does for some breaks): there both count.
 */
function compare(truth: ReturnType<typeof truthOf>, changes: readonly LineStateChange[], idleHidden: boolean): Agreement {
  const states = truth.events.filter((event) => event.kind === 'state')
  const names: Record<string, Record<string, number>> = {}
  let agreeing = 0
  let minutes = 0
  let production = 0
  let found = 0
  let changedMs = Number.NEGATIVE_INFINITY
  for (let timeMs = truth.startMs + 600_000; timeMs < truth.endMs; timeMs += 60_000) {
    const before = states.filter((event) => event.timeMs <= timeMs)
    const present = before.at(-1)
    if (present?.kind !== 'state') continue
    if (present.state === 'changeover') changedMs = timeMs
    const said = changes.findLast((change) => change.timeMs <= timeMs)
    const state = said?.state ?? 'off'
    const producing = present.state === 'production' || present.state === 'run-in'
    const settling = (state === 'settling' || state === 'changeover') && timeMs - changedMs < SETTLE_MINUTES * 60_000
    const expected: readonly string[] = producing ? ['production', 'run-in'] : present.state === 'standby' ? ['idle', 'settling'] : present.state === 'maintenance' ? ['idle', 'off', 'warm-up', 'settling'] : [present.state, ...(present.state === 'warm-up' ? ['settling'] : [])]
    minutes += 1
    const hidden = idleHidden && state === 'production' && (present.state === 'idle' || present.state === 'standby')
    if (expected.includes(state) || settling || hidden) agreeing += 1
    if (!producing) continue
    production += 1
    if (state !== 'production' && state !== 'run-in') continue
    found += 1
    const counts = (names[present.recipe] ??= {})
    const name = said?.recipe ?? ''
    counts[name] = (counts[name] ?? 0) + 1
  }
  const kept = Object.values(names).reduce((sum, counts) => sum + Math.max(...Object.values(counts)), 0)
  return { agreeing: agreeing / minutes, productionFound: found / production, recipeKept: kept / found }
}

/**
 * Seeds 101-120 over six days, with temperatures, speed and level alone, with the further channels, and with drawn faults:
 * agreement 0.942-0.988, means 0.971-0.975; production found 0.942-0.994. The limits lie below the worst of them.
 */
function expectAgreement(requests: readonly ScenarioRequest[]): void {
  const results = requests.map(follow)
  for (const result of results) {
    expect(result.agreeing).toBeGreaterThan(0.93)
    expect(result.productionFound).toBeGreaterThan(0.92)
  }
  expect(results.reduce((sum, { agreeing }) => sum + agreeing, 0) / results.length).toBeGreaterThan(0.95)
}

describe('agreement with the simulated line over three to six days', () => {
  test('temperatures, speed and level', () => {
    expectAgreement([1, 2, 8, 26].map((seed) => ({ seed, kind: 'healthy' as const, channels: 'minimum' as const, days: 3 })))
  })

  test('with set-points, recipe and board count', () => {
    expectAgreement([1, 3, 13, 15].map((seed) => ({ seed, kind: 'healthy' as const, channels: 'minimum+' as const, days: 3 })))
  })

  test('with faults that must not pass for stops', () => {
    expectAgreement([
      { seed: 26, kind: 'fault', cause: 'dirty-chain', channels: 'minimum', days: 6 },
      { seed: 32, kind: 'fault', cause: 'coated-thermocouple', channels: 'minimum', days: 6 },
      { seed: 38, kind: 'fault', cause: 'ageing-element', channels: 'minimum', days: 6 },
      { seed: 33, kind: 'fault', cause: 'worn-drive', channels: 'minimum+', days: 6 },
    ])
  })

  test('recipes that no channel names are told apart by their levels, under a fault as well', () => {
    // Without edits of set-points, which are levels of their own. Seeds 101-120 and five faults over eight seeds: 0.972-1.
    for (const request of [
      { seed: 8, kind: 'healthy', channels: 'minimum', days: 3, quiet: true },
      { seed: 36, kind: 'fault', cause: 'coated-thermocouple', channels: 'minimum', days: 6, quiet: true },
      { seed: 26, kind: 'fault', cause: 'dirty-chain', channels: 'minimum', days: 6, quiet: true },
      { seed: 31, kind: 'fault', cause: 'ageing-element', channels: 'minimum', days: 6, quiet: true },
    ] satisfies ScenarioRequest[]) expect(follow(request).recipeKept).toBeGreaterThan(0.96)
  })
})
