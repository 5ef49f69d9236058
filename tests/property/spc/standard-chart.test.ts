import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { createStandardChart, standardEvidence, stepStandardChart, type StandardChartDesign, type StandardChartState } from '../../../src/spc/standard-chart.js'

const DESIGN: StandardChartDesign = { arl0: 2000, sigma: 1, centreValues: 5 }
// quarters: sums, differences and doublings are exact, so that decisions need no tolerance
const value = fc.integer({ min: -32, max: 32 }).map((quarters) => quarters / 4)
const series = fc.array(value, { minLength: 1, maxLength: 80 })

function run(values: readonly number[], design: StandardChartDesign = DESIGN, state: StandardChartState = createStandardChart(), from = 0) {
  const bodies: any[] = []
  const take = (name: string) => (body: any) => void bodies.push({ name, ...body })
  const sink = { point: take('point'), ruleHit: take('rule-hit'), signal: take('signal'), baseline: take('baseline') }
  values.forEach((each, i) => stepStandardChart(design, state, (from + i) * 1000, each, sink))
  return { bodies, state }
}

const signals = ({ bodies }: { bodies: any[] }): any[] => bodies.filter(({ name }) => name === 'signal').map(({ timeMs, phase, side, onsetMs }) => ({ timeMs, phase, side, onsetMs }))

describe('chart with standards given', () => {
  it('goes on exactly from its parsed text', () => {
    fc.assert(
      fc.property(series, fc.nat(), (values, cut) => {
        const at = cut % values.length
        const whole = run(values)
        const first = run(values.slice(0, at))
        const rest = run(values.slice(at), DESIGN, JSON.parse(JSON.stringify(first.state)), at)
        expect([...first.bodies, ...rest.bodies]).toEqual(whole.bodies)
        expect(JSON.stringify(rest.state)).toBe(JSON.stringify(whole.state))
      }),
    )
  })

  it('does not care for the unit, nor for the zero of the scale', () => {
    fc.assert(
      fc.property(series, fc.constantFrom(0.125, 64), fc.integer({ min: -100, max: 100 }), (values, factor, offset) => {
        const scaled = run(values.map((each) => each * factor), { ...DESIGN, sigma: factor })
        const moved = run(values.map((each) => each + offset))
        expect(signals(scaled)).toEqual(signals(run(values)))
        expect(signals(moved)).toEqual(signals(run(values)))
      }),
    )
  })

  it('treats both sides alike', () => {
    fc.assert(
      fc.property(series, (values) => {
        const mirrored = signals(run(values.map((each) => -each))).map((signal) => ({ ...signal, side: signal.side === 'above' ? 'below' : 'above' }))
        expect(mirrored).toEqual(signals(run(values)))
      }),
    )
  })

  it('the order of the first values does not matter; starts and ends alternate; no onset lies after its signal; numbers are finite', () => {
    fc.assert(
      fc.property(series, (values) => {
        const turned = run([...values.slice(0, 5).reverse(), ...values.slice(5)])
        const { bodies, state } = run(values)
        expect(turned.state.centre).toBe(state.centre)
        let open = false
        for (const body of bodies) {
          for (const each of Object.values(body)) if (typeof each === 'number') expect(Number.isFinite(each)).toBe(true)
          if (body.name !== 'signal') continue
          expect(body.phase).toBe(open ? 'end' : 'start')
          open = !open
          expect(body.onsetMs).toBeLessThanOrEqual(body.timeMs)
        }
        const { status } = standardEvidence(DESIGN, state)
        expect(status === 'up' || status === 'down').toBe(open)
      }),
    )
  })
})
