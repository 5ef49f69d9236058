import { describe, expect, it } from 'vitest'
import type { RoundCheckView, RoundValueView } from '../../../src/page/round-client.js'
import { EMPTY_DRAFT, fieldState, isAnswered, isLonger, isOfStart, isOfThisRound, isOfToday, isSound, itemOf, numberOf } from '../../../src/page/round-draft.js'

const GRAMS: RoundValueView = { value: 'grams', title: 'Spray weight', unit: 'g', possibleMin: 0.02, possibleMax: 100, lower: 3.78, upper: 4.62 }

function check(more: Partial<RoundCheckView> = {}): RoundCheckView {
  return { check: 'weigh-dose', title: 'Weigh', steps: [], section: 'fluxer', every: 'shift', everyText: '', minutes: 1, status: 'due', carriedOver: false, asks: 'nothing', zones: 0, looks: [], values: [GRAMS], cautions: [], ...more }
}

describe('numbers as people write them', () => {
  it.each([['3,1', 3.1], ['3.1', 3.1], [' 4 ', 4], ['-2', -2], ['.5', 0.5], ['', undefined], ['3,1,2', undefined], ['1e5', undefined], ['4 g', undefined], ['0x10', undefined]])('%s', (text, number) => {
    expect(numberOf(text)).toBe(number)
  })
})

describe('a field', () => {
  it('says what stands against its number', () => {
    expect(['', 'x', '420', '3,1', '4.2'].map((text) => fieldState(text, GRAMS))).toEqual(['empty', 'no-number', 'not-possible', 'outside', 'inside'])
    expect(isSound(check(), { ...EMPTY_DRAFT, values: { grams: '420' } })).toBe(false)
    expect(isSound(check(), { ...EMPTY_DRAFT, values: { grams: '3.1' } })).toBe(true)
  })
})

describe('an answer', () => {
  it('is what the check asks for this time', () => {
    expect(isAnswered(check(), EMPTY_DRAFT)).toBe(true)
    expect(isAnswered(check({ asks: 'look' }), EMPTY_DRAFT)).toBe(false)
    expect(isAnswered(check({ asks: 'look' }), { ...EMPTY_DRAFT, finding: 0 })).toBe(true)
    expect(isAnswered(check({ asks: 'value' }), { ...EMPTY_DRAFT, finding: 0 })).toBe(false)
    expect(isAnswered(check({ asks: 'value' }), { ...EMPTY_DRAFT, values: { grams: '4' } })).toBe(true)
    expect(isAnswered(check({ asks: 'value' }), { ...EMPTY_DRAFT, notInOrder: true })).toBe(true)
  })

  it('goes out with what was said and nothing else; the worst look is not in order', () => {
    expect(itemOf(check(), EMPTY_DRAFT)).toEqual({ check: 'weigh-dose', ok: true })
    expect(itemOf(check(), { values: { grams: '3,1', other: '' }, finding: 4, notInOrder: false, zone: 2, remark: ' wet ' })).toEqual({ check: 'weigh-dose', ok: false, values: { grams: 3.1 }, finding: 4, zone: 2, remark: 'wet' })
  })
})

describe('a check has one place', () => {
  it('in the round, today, later, or at the start', () => {
    const checks = [check(), check({ every: 'day' }), check({ every: 'week', status: 'overdue' }), check({ every: 'event', event: 'start-up' }), check({ every: 'day', event: 'nozzle-refitted' }), check({ status: 'done' })]
    const places = checks.map((one) => [isOfThisRound, isOfToday, isLonger, isOfStart].map((is) => is(one)))
    expect(places).toEqual([[true, false, false, false], [false, true, false, false], [false, false, true, false], [false, false, false, true], [true, false, false, false], [false, false, false, false]])
  })
})
