import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { BENIGN_IDS, FAULT_IDS, NONE_OF_THESE, type CauseId } from '../../../../src/line/causes.js'
import { bestCheck, CHECKS, rankChecks, type CauseChance } from '../../../../src/line/diagnosis/checks.js'
import { channelThatWouldTell, invisibleFaults } from '../../../../src/line/diagnosis/visibility.js'
import { CHANNEL_KINDS } from '../../../../src/line/channels.js'
import { declaredChannels } from '../../../../src/line/features/declared-channels.js'
import { confirmedCauses } from '../../../../src/maintenance/suggestion-policy.js'
import { invisibleOn } from '../../../../src/tools/detect/observability.js'
import { definitionOf, diagnoseMoves, MINIMUM_CHANNELS, MINIMUM_LINE } from '../../../unit/line/diagnosis/diagnosis-cases.js'

const SECTIONS = ['fluxer', 'preheat', 'transport', 'pot', 'line'] as const
const chancesArbitrary: fc.Arbitrary<CauseChance[]> = fc.uniqueArray(fc.record({ cause: fc.constantFrom<CauseId>(...FAULT_IDS, ...BENIGN_IDS, NONE_OF_THESE), probability: fc.double({ min: 0, max: 1, noNaN: true }) }), { selector: ({ cause }) => cause, maxLength: 12 })

describe('the check named first', () => {
  it('never needs an electrician, is of the catalogue, and nothing tells as much in less time', () => {
    fc.assert(
      fc.property(chancesArbitrary, fc.constantFrom(...SECTIONS), (chances, section) => {
        const first = bestCheck(chances, section)
        expect(first.needsElectrician).toBe(false)
        expect(CHECKS.find(({ check }) => check === first.check)).toMatchObject({ minutes: first.minutes, needsElectrician: false })
        const ranked = rankChecks(chances, section)
        // What shows the same causes in fewer minutes stands before what takes longer.
        const sure = ranked.find(({ check }) => check === first.check)!
        for (const other of ranked) {
          if (other.minutes < sure.minutes && JSON.stringify([...other.shows].sort()) === JSON.stringify([...sure.shows].sort())) throw new Error(`${other.check} shows the same as ${sure.check} in less time`)
        }
      }),
      { numRuns: 200 },
    )
  })

  it('for one suspect against nothing known, is a check that shows it', () => {
    for (const fault of FAULT_IDS) {
      const section = fault === 'low-level' || fault === 'dross-at-intake' || fault === 'drifting-pot-probe' ? 'pot' : 'preheat'
      const first = bestCheck([{ cause: fault, probability: 0.7 }, { cause: NONE_OF_THESE, probability: 0.3 }], section)
      expect(CHECKS.find(({ check }) => check === first.check)!.shows).toContain(fault)
    }
  })
})

const PATTERNS = CHANNEL_KINDS.map(({ pattern }) => pattern)
const EXTRA = ['preheat.zone-{n}.duty', 'preheat.zone-{n}.setpoint', 'preheat.zone-{n}.blower-current', 'conveyor.current', 'conveyor.setpoint', 'pot.temperature', 'pot.duty', 'pot.pump-speed', 'pot.wave-height', 'fluxer.flow', 'fluxer.pressure', 'board.topside-temperature', 'board.count', 'exhaust.pressure', 'ambient.temperature']
const lineArbitrary = fc.record({ extra: fc.subarray(EXTRA), speedSensor: fc.constantFrom('chain' as const, 'motor' as const) }).map(({ extra, speedSensor }) => definitionOf({ channels: [...MINIMUM_CHANNELS, ...extra.map((channel) => ({ channel }))], machine: { conveyor: { speedSensor } } }))
const MOVED = ['pot.level.offset', 'conveyor.speed.spread', 'conveyor.speed.jumps', 'preheat.zone-2.warm-up-time', 'preheat.zone-2.temperature.offset', 'preheat.zone-1.temperature.slow-own', 'pot.level.slope'] as const
const movesArbitrary = fc.dictionary(fc.constantFrom(...MOVED), fc.double({ min: 2, max: 9, noNaN: true }).chain((size) => fc.constantFrom(size, -size)), { minKeys: 1, maxKeys: 4 })

describe('what a line cannot see', () => {
  it('the channel that would tell most is one the line lacks', () => {
    let named = 0
    fc.assert(
      fc.property(lineArbitrary, movesArbitrary, (definition, moved) => {
        for (const { channelThatWouldTell: channel } of diagnoseMoves(definition, moved)) {
          if (channel === undefined) continue
          named += 1
          expect(PATTERNS).toContain(channel)
          expect(declaredChannels(definition).has(channel.replace('<n>', '2'))).toBe(false)
        }
        expect(channelThatWouldTell(definition, [], 'pot', undefined, [])).toBeUndefined()
      }),
      { numRuns: 60 },
    )
    expect(named).toBeGreaterThan(20)
  })

  it('is at least what the symptom matrix leaves without a channel', () => {
    fc.assert(
      fc.property(lineArbitrary, (definition) => {
        const channels = definition.channels.flatMap(({ channel }) => (channel.includes('{n}') ? definition.machine.zones.map((_zone, index) => channel.replace('{n}', String(index + 1))) : [channel]))
        const blind = invisibleOn({ channels, speedSensor: definition.machine.conveyor.speedSensor === 'motor' ? 'motor' : 'chain', speedPeriodS: 1 })
        expect(invisibleFaults(definition)).toEqual(expect.arrayContaining(blind))
      }),
      { numRuns: 60 },
    )
  })

  it('never leads with half the weight, neither in a diagnosis nor in the suggestion made from it: its group then names a fault that can be seen', () => {
    fc.assert(
      fc.property(lineArbitrary, movesArbitrary, (definition, moved) => {
        const unseen = invisibleFaults(definition)
        for (const diagnosis of diagnoseMoves(definition, moved)) {
          for (const causes of [diagnosis.causes, confirmedCauses(diagnosis)]) {
            expect(causes.reduce((sum, { probability }) => sum + probability, 0)).toBeCloseTo(1, 9)
            for (const { cause, members, kind, probability } of causes) {
              if (kind === 'fault' && probability >= 0.5) expect((members ?? [cause]).some((id) => !(unseen as readonly string[]).includes(id))).toBe(true)
            }
          }
        }
      }),
      { numRuns: 100 },
    )
  })

  it('an unseen fault that would lead a confirmed suggestion is held below one half', () => {
    const causes = [{ cause: 'clogged-nozzle', section: 'fluxer', kind: 'fault', probability: 0.49 }, { cause: 'board-load', section: 'line', kind: 'benign', probability: 0.4 }, { cause: NONE_OF_THESE, section: 'fluxer', kind: 'none-of-these', probability: 0.11 }] as const
    const lead = confirmedCauses({ causes, invisible: invisibleFaults(MINIMUM_LINE) }).find(({ cause }) => cause === 'clogged-nozzle')!
    expect(lead.probability).toBe(0.49)
    expect(confirmedCauses({ causes, invisible: [] })[0]!.probability).toBeGreaterThan(0.7)
  })

  it('a confirmed suspicion is surer of its first cause, keeps the order of the faults and a whole of one', () => {
    fc.assert(
      fc.property(fc.uniqueArray(fc.double({ min: 0.01, max: 1, noNaN: true }), { minLength: 2, maxLength: 6 }), (weights) => {
        const sum = weights.reduce((total, weight) => total + weight, 0)
        const causes = weights.sort((a, b) => b - a).map((weight, at) => ({ cause: (['dry-chain', 'low-level', 'worn-drive', 'clogged-nozzle', 'dirty-rails', 'coated-emitter'] as const)[at]!, section: 'line', kind: 'fault', probability: weight / sum }) as const)
        const confirmed = confirmedCauses({ causes, invisible: [] })
        expect(confirmed.map(({ cause }) => cause)).toEqual(causes.map(({ cause }) => cause))
        expect(confirmed.reduce((total, { probability }) => total + probability, 0)).toBeCloseTo(1, 9)
        expect(confirmed[0]!.probability).toBeGreaterThanOrEqual(causes[0]!.probability)
      }),
      { numRuns: 100, seed: 7 },
    )
  })
})
