import { describe, expect, it } from 'vitest'
import type { LineStateName } from '../../../src/line/feature-value.js'
import { isSettled, notePause, slotState, watchPause, type LiveContext } from '../../../src/line/features/slot.js'

const BEGIN = Date.UTC(2031, 4, 5, 6)
const at = (minutes: number): number => BEGIN + minutes * 60_000

/** The context after some changes of state, as [minute, state, recipe]. */
function after(...changes: readonly (readonly [number, LineStateName, string?])[]): LiveContext {
  const live: LiveContext = { state: 'off', recipe: 'a', changedMs: 0, recipeSinceMs: 0, offSinceMs: 0, offUntilMs: 0 }
  for (const [minute, state, recipe = 'a'] of changes) {
    notePause(live, at(minute), state, recipe)
    live.state = state
    live.recipe = recipe
    live.changedMs = at(minute)
  }
  return live
}

describe('slots and pauses', () => {
  it('a short wait for boards leaves the production one stretch', () => {
    expect(slotState(after([0, 'production'], [13, 'idle'], [15.5, 'production']), at(20))).toEqual({ state: 'production', sinceMs: at(0) })
  })

  it('so does one that is still on when the slot ends', () => {
    const live = after([0, 'production'], [18, 'idle'])
    expect(slotState(live, at(20))).toEqual({ state: 'production', sinceMs: at(0) })
    expect(slotState(live, at(30))).toEqual({ state: 'idle', sinceMs: at(18) })
  })

  it('a longer one ends it', () => {
    expect(slotState(after([0, 'production'], [12, 'idle'], [16, 'production']), at(20))).toEqual({ state: 'production', sinceMs: at(16) })
  })

  it.each<[string, readonly (readonly [number, LineStateName, string?])[]]>([
    ['another recipe', [[0, 'production'], [13, 'idle'], [14, 'production', 'b']]],
    ['a changeover', [[0, 'production'], [13, 'changeover'], [14, 'production']]],
    ['a changeover out of a pause', [[0, 'production'], [12, 'idle'], [13, 'changeover'], [14, 'production']]],
    ['a stop out of a pause', [[0, 'production'], [12, 'idle'], [13, 'off'], [14, 'production']]],
    ['work', [[0, 'production'], [12, 'maintenance'], [14, 'production']]],
  ])('nothing else is bridged: %s', (_, changes) => {
    expect(slotState(after(...changes), at(20))).toEqual({ state: 'production', sinceMs: at(14) })
  })

  it.each(['conveyor.speed', 'pot.pump-speed'])('is a stop where %s falls, whatever the state says', (channel) => {
    const waiting = (): LiveContext => {
      const live: LiveContext = { ...after([0, 'production']), runs: { 'conveyor.speed': 20, 'pot.pump-speed': 900 } }
      notePause(live, at(13), 'idle', 'a', { 'conveyor.speed': 20, 'pot.pump-speed': 900 })
      return { ...live, state: 'idle', changedMs: at(13) }
    }
    const usual = channel === 'conveyor.speed' ? 20 : 900
    const goesOn = waiting()
    watchPause(goesOn, channel, 0.95 * usual)
    watchPause(goesOn, 'pot.level', 0)
    expect(slotState(goesOn, at(15))).toEqual({ state: 'production', sinceMs: at(0) })
    const stops = waiting()
    watchPause(stops, channel, 0.3 * usual)
    expect(slotState(stops, at(15))).toEqual({ state: 'idle', sinceMs: at(13) })
    notePause(stops, at(15), 'production', 'a')
    expect(slotState({ ...stops, state: 'production', changedMs: at(15) }, at(20))).toEqual({ state: 'production', sinceMs: at(15) })
  })

  it('begins as no pause where the chain stands already, or its usual speed is not known', () => {
    for (const [runs, last] of [[{ 'conveyor.speed': 20 }, 0], [undefined, 20], [{}, 20]] as const) {
      const live: LiveContext = { ...after([0, 'production']), ...(runs === undefined ? {} : { runs }) }
      notePause(live, at(13), 'idle', 'a', { 'conveyor.speed': last })
      expect(slotState({ ...live, state: 'idle', changedMs: at(13) }, at(15))).toEqual({ state: 'idle', sinceMs: at(13) })
    }
  })

  it('goes on from a context kept before pauses were noted', () => {
    const live: LiveContext = { state: 'production', recipe: 'a', changedMs: at(3), recipeSinceMs: 0, offSinceMs: 0, offUntilMs: 0 }
    expect(slotState(live, at(20))).toEqual({ state: 'production', sinceMs: at(3) })
  })

  it('is settled only when recipe and set-point have stood since before it', () => {
    const slot = { startMs: at(10), endMs: at(20), state: 'production' as const, recipe: 'a', clean: true, recipeSinceMs: at(2), boards: -1 }
    expect(isSettled(slot, 0, 8 * 60_000)).toBe(true)
    expect(isSettled(slot, 0, 9 * 60_000)).toBe(false)
    expect(isSettled(slot, at(5), 6 * 60_000)).toBe(false)
  })
})
