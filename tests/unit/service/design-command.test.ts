import { expect, it } from 'vitest'
import { runDesign } from '../../../src/service/design-command.js'
import type { DesignRow } from '../../../src/spc/design-table.js'
import { expectClose, readReference } from '../../golden/spc/reference-file.js'

const computed = readReference('arl_ewma_cusum')
/** Stated in the file. */
const TOLERANCE_REL = 1e-4

async function told(...args: string[]): Promise<{ readonly code: number; readonly text: string; readonly errors: string }> {
  let text = ''
  let errors = ''
  const code = await runDesign(args, (part) => void (text += part), (part) => void (errors += part))
  return { code, text, errors }
}

it('gives the limits and delays of the reference at a budget of one false signal in 50,000 points of a chart', async () => {
  // 5 channels with one chart of 10,000 points a week, one false signal a week
  const { code, text } = await told('--channels', '5', '--points-per-week', '10000', '--charts', 'shewhart,ewma:0.1,ewma:0.2,cusum:0.5', '--charts-per-channel', '1', '--budget-per-week', '1', '--json')
  expect(code).toBe(0)
  const rows = JSON.parse(text) as DesignRow[]
  expect(rows.map(({ chart }) => chart)).toEqual(['shewhart', 'ewma:0.1', 'ewma:0.2', 'cusum:0.5'])
  const rowOf = (chart: string): DesignRow => rows.find((row) => row.chart === chart)!
  for (const [chart, lambda] of [['shewhart', 1], ['ewma:0.1', 0.1], ['ewma:0.2', 0.2]] as const) {
    const entry = computed.ewma.find((each: { lambda: number; L0: number; limits: string }) => each.lambda === lambda && each.L0 === 50_000 && each.limits.startsWith('fix'))
    expect(entry, chart).toBeDefined()
    expectClose(rowOf(chart).limit, entry.L, TOLERANCE_REL, `${chart} limit`)
    for (const shift of ['0.5', '1', '1.5', '2', '3']) expectClose(rowOf(chart).delays[shift]!, entry.zero_state_ARL[entry.mu.indexOf(Number(shift))], TOLERANCE_REL, `${chart} at ${shift} sigma`)
  }
  expectClose(rowOf('cusum:0.5').limit, computed.cusum_crit.find((each: { k: number; L0: number }) => each.k === 0.5 && each.L0 === 50_000).h_two_sided, TOLERANCE_REL, 'cusum:0.5 limit')
  for (const row of rows) expectClose(row.falsePerWeek, 1, 1e-5, `${row.chart} false signals a week`)
})

it('shows what the textbook would cost: 3 sigma 370.4 points between false signals, the four zone rules 91.75', async () => {
  const { text } = await told('--channels', '20', '--points-per-week', '10080', '--charts', 'shewhart', '--json', '--textbook')
  const rows = JSON.parse(text) as DesignRow[]
  const [, threeSigma, rules] = rows
  expect(rows.map(({ chart, withinBudget }) => [chart, withinBudget])).toEqual([['shewhart', true], ['shewhart:3', false], ['rules:western-electric', false]])
  expectClose(threeSigma!.arl0, 370.4, 1e-3, '3 sigma')
  // Champ and Woodall (1987)
  expectClose(rules!.arl0, 91.75, 1e-3, 'zone rules')
  expectClose(rules!.falsePerWeek, (20 * 10_080) / 91.75, 1e-3, 'zone rules on the line')
  const table = (await told('--charts', 'shewhart')).text
  expect(table).toContain('20 channels, 3 charts on each, 10080 points a week, 1 false signal a week for the whole line')
  expect((await told('--channels', '1', '--charts-per-channel', '1', '--budget-per-week', '2')).text).toContain('1 channel, 1 chart on each, 10080 points a week, 2 false signals a week')
  expect(table).toContain('textbook limits, and what they would cost on this line')
  expect(table).toMatch(/rules:western-electric .* 2,197 /)
})

it('explains itself, and says what was not understood', async () => {
  const help = await told('--help')
  expect(help).toMatchObject({ code: 0, errors: '' })
  for (const word of ['--channels', '--budget-per-week', 'before a line goes live', 'what the limits and rules of the textbook would cost', 'Example']) expect(help.text).toContain(word)
  expect(await told('--charts', 'magic')).toMatchObject({ code: 2, text: '', errors: expect.stringContaining('chart "magic" is not understood: expected shewhart') })
  expect(await told('--channels', '2.5')).toMatchObject({ code: 2, errors: expect.stringContaining('--channels: expected a whole number, got "2.5"') })
  expect(await told('--budget-per-week', '0')).toMatchObject({ code: 2, errors: expect.stringContaining('expected a number above 0') })
})
