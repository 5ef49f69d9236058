import { describe, expect, it } from 'vitest'
import { STAND_ALONE_CHARTS_MAX, StandAloneChart, type StandAloneState } from '../../../src/service/stand-alone-chart.js'

const DESIGN = { learn: 50, falseEvery: 1000 }

function value(index: number): number {
  return [1, 2, 3, 4].reduce((sum, factor) => sum + (((index * factor * 0.6180339887) % 1) - 0.5), 0)
}

function run(chart: StandAloneChart, from: number, to: number): string {
  let told = ''
  for (let index = from; index < to; index += 1) told += JSON.stringify(chart.take('x', index * 60_000, value(index) + (index > 150 ? 3 : 0)))
  return told
}

describe('a chart on its own', () => {
  it('goes on from its parsed state exactly', () => {
    const whole = new StandAloneChart(DESIGN, undefined)
    const expected = run(whole, 0, 200)
    const first = new StandAloneChart(DESIGN, undefined)
    const told = run(first, 0, 90)
    const second = new StandAloneChart(DESIGN, JSON.parse(JSON.stringify(first.state())) as StandAloneState)
    expect(told + run(second, 90, 200)).toBe(expected)
    expect(expected).toContain('"signal"')
  })

  it('starts anew under another design, and where the kept state is of another form', () => {
    const first = new StandAloneChart(DESIGN, undefined)
    run(first, 0, 90)
    expect(first.now('x').learning).toBe(false)
    const { form: _form, ...older } = first.state()
    expect(new StandAloneChart(DESIGN, older as StandAloneState).now('x')).toEqual({ learning: true, n: 0, target: 50 })
    expect(new StandAloneChart({ ...DESIGN, learn: 60 }, first.state()).now('x')).toEqual({ learning: true, n: 0, target: 60 })
  })

  it('tells learning, quiet and signal', () => {
    const chart = new StandAloneChart(DESIGN, undefined)
    run(chart, 0, 10)
    expect(chart.now('x')).toMatchObject({ learning: true, target: 50 })
    run(chart, 10, 150)
    expect(chart.now('x')).toMatchObject({ learning: false })
    expect(chart.now('x').signal).toBeUndefined()
    run(chart, 150, 200)
    expect(chart.now('x').signal?.side).toBe('above')
  })

  it('keeps no more charts than it may', () => {
    const chart = new StandAloneChart(DESIGN, undefined)
    for (let key = 0; key < STAND_ALONE_CHARTS_MAX; key += 1) chart.take(String(key), 0, 1)
    expect(chart.isFull('one more')).toBe(true)
    expect(chart.isFull('0')).toBe(false)
  })

  it('refuses what is no finite number', () => {
    expect(() => new StandAloneChart(DESIGN, undefined).take('x', 0, NaN)).toThrow(/finite/)
  })
})
