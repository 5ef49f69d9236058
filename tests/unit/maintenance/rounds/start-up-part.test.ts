import { describe, expect, it } from 'vitest'
import { createRoundsPart } from '../../../../src/maintenance/rounds/rounds-part.js'
import { createStartUpPart } from '../../../../src/maintenance/rounds/start-up-part.js'
import { definitionWith, HOUR, MINUTE, PartBench } from './part-bench.js'

function startBench(): PartBench {
  const bench = new PartBench(definitionWith(), [createRoundsPart, createStartUpPart])
  bench.state = 'off'
  return bench
}

/** A night off, then a start: zones ready after their times, the pot heated from cold at a rate in °C a minute. */
function start(bench: PartBench, zonesS: readonly number[], pot: { readonly fromC: number; readonly minutes: number } = { fromC: 255, minutes: 0 }): void {
  bench.change('off')
  bench.nowMs += 9 * HOUR
  bench.read('pot.setpoint', 255)
  bench.read('pot.temperature', pot.fromC)
  bench.change('warm-up')
  const startMs = bench.nowMs
  for (let minute = 1; minute <= pot.minutes + 12; minute += 1) {
    bench.nowMs = startMs + minute * MINUTE
    bench.read('pot.temperature', pot.minutes === 0 ? 255 : Math.min(255, pot.fromC + ((255 - pot.fromC) * minute) / pot.minutes))
  }
  zonesS.forEach((seconds, index) => bench.run((part, context, asks) => part.value?.({ value: { feature: `preheat.zone-${index + 1}.warm-up-time`, timeMs: bench.nowMs, value: seconds, weight: 1 }, recipe: bench.recipe, state: 'warm-up' }, context, asks)))
  bench.change('production')
}

describe('a start', () => {
  it('has no expectation before the fourth, then its own median', () => {
    const bench = startBench()
    for (const seconds of [760, 770, 750]) {
      start(bench, [seconds])
      expect(bench.last('start-up')?.parts[0]?.expectedS).toBeUndefined()
    }
    start(bench, [765])
    expect(bench.last('start-up')?.parts).toEqual([{ part: 'zone-1', actualS: 765, starts: 3, expectedS: 760, lowerS: 684, upperS: 836 }])
    expect(bench.last('start-up')?.readyMs).toBe(bench.nowMs)
  })

  it('shows a weak heater: a third longer than usual (1019 against 760 s, worked number G32) lies beyond the usual', () => {
    const bench = startBench()
    for (const seconds of [760, 770, 750, 765]) start(bench, [seconds])
    start(bench, [1019])
    const [zone] = bench.last('start-up')!.parts
    expect(zone!.actualS).toBeGreaterThan(zone!.upperS!)
    // the clogged blower's 5 % does not
    start(bench, [800])
    const [blower] = bench.last('start-up')!.parts
    expect(blower!.actualS).toBeLessThan(blower!.upperS!)
  })

  it('times a cold pot by its rise, and a pot that was kept hot not at all', () => {
    const bench = startBench()
    start(bench, [760])
    expect(bench.last('start-up')?.parts.map(({ part }) => part)).toEqual(['zone-1'])
    for (const fromC of [25, 55, 155]) start(bench, [760], { fromC, minutes: Math.round((255 - fromC) / 2.5) })
    start(bench, [760], { fromC: 105, minutes: 60 })
    const pot = bench.last('start-up')?.parts.find(({ part }) => part === 'pot')
    expect(pot?.actualS).toBeGreaterThan(3400)
    expect(Math.abs(pot!.expectedS! - 3600)).toBeLessThan(120)
  })

  it('with the pump before the melt is complete is told', () => {
    const bench = startBench()
    bench.nowMs += HOUR
    bench.read('pot.temperature', 190)
    bench.change('warm-up')
    bench.nowMs += MINUTE
    bench.read('pot.pump-speed', 40)
    expect(bench.last('start-up')?.pumpBeforeMeltMs).toBe(bench.nowMs)
  })

  it('asks for its short checks at the line', () => {
    const bench = startBench()
    start(bench, [760])
    expect(bench.last('rounds')?.events).toMatchObject([{ event: 'start-up' }])
  })

  it('is known through a restart', () => {
    const bench = startBench()
    for (const seconds of [760, 770, 750]) start(bench, [seconds])
    bench.restart()
    start(bench, [765])
    expect(bench.last('start-up')?.parts[0]?.expectedS).toBe(760)
  })
})
