import { parseArgs } from 'node:util'
import { DESIGN_SHIFTS, designTable, TEXTBOOK_CHARTS, type DesignRequest, type DesignRow } from '../spc/design-table.js'

export const DESIGN_HELP = `wave-solder-spc design [options]

Shows, before a line goes live, the limits that a budget of false signals leads to and how soon a change of a given size
is then seen; below them what the limits and rules of the textbook would cost on the same line in false signals a week.

  --channels <n>            channels watched; default 20
  --points-per-week <n>     points per channel and week; default 10080 (one a minute)
  --charts <list>           charts to compare, separated by commas; default shewhart,ewma:0.1,ewma:0.2,cusum:0.5
                            shewhart, ewma:<lambda>, cusum:<k>, shewhart:<limit>, rules:western-electric
  --charts-per-channel <n>  charts run side by side on each channel, sharing the budget; default 3
  --budget-per-week <x>     false signals the whole line may give in a week; default 1
  --textbook                adds the textbook limits (3 sigma; the four zone rules) to --json, as the table always does
  --json                    writes a JSON array, one object for each chart

Delays are mean numbers of points from a change to the signal, from a chart at rest, for independent normal values.
Limits are in sigmas of what the chart plots; of a CUSUM, its decision interval in sigmas of the value.

Example: 20 channels, one point a minute, three charts on each, one false signal a week for the whole line
  wave-solder-spc design --channels 20 --points-per-week 10080 --charts-per-channel 3 --budget-per-week 1
`

/**
 * Runs the command `design`.
 * @param print where the answer goes
 * @param printError where the reason goes if the arguments are wrong
 * @returns exit code: 0 done, 2 used wrongly
 */
export async function runDesign(
  args: readonly string[],
  print: (text: string) => void = (text) => void process.stdout.write(text),
  printError: (text: string) => void = (text) => void process.stderr.write(text),
): Promise<number> {
  try {
    const options = parseDesignArgs(args)
    if (options === 'help') {
      print(DESIGN_HELP)
      return 0
    }
    const { request, json, textbook } = options
    const rows = designTable(request)
    const notAsked = TEXTBOOK_CHARTS.filter((chart) => !request.charts.includes(chart))
    const known = notAsked.length === 0 || (json && !textbook) ? [] : designTable({ ...request, charts: notAsked })
    print(json ? `${JSON.stringify([...rows, ...known].map(roundedRow), null, 2)}\n` : tableText(request, rows, known))
    return 0
  } catch (error) {
    printError(`${error instanceof Error ? error.message : String(error)}\nsee design --help\n`)
    return 2
  }
}

function parseDesignArgs(args: readonly string[]): 'help' | { readonly request: DesignRequest; readonly json: boolean; readonly textbook: boolean } {
  const { values } = parseArgs({
    args: [...args],
    options: {
      channels: { type: 'string', default: '20' },
      'points-per-week': { type: 'string', default: '10080' },
      charts: { type: 'string', default: 'shewhart,ewma:0.1,ewma:0.2,cusum:0.5' },
      'charts-per-channel': { type: 'string', default: '3' },
      'budget-per-week': { type: 'string', default: '1' },
      textbook: { type: 'boolean', default: false },
      json: { type: 'boolean', default: false },
      help: { type: 'boolean', default: false },
    },
  })
  if (values.help) return 'help'
  const charts = values.charts.split(',').map((text) => text.trim())
  return {
    request: {
      channels: wholeNumber('--channels', values.channels),
      pointsPerWeek: positiveNumber('--points-per-week', values['points-per-week']),
      charts,
      chartsPerChannel: wholeNumber('--charts-per-channel', values['charts-per-channel']),
      budgetPerWeek: positiveNumber('--budget-per-week', values['budget-per-week']),
    },
    json: values.json,
    textbook: values.textbook,
  }
}

function positiveNumber(option: string, text: string): number {
  const value = text.trim() === '' ? Number.NaN : Number(text)
  if (!(Number.isFinite(value) && value > 0)) throw new Error(`${option}: expected a number above 0, got "${text}"`)
  return value
}

function wholeNumber(option: string, text: string): number {
  const value = positiveNumber(option, text)
  if (!Number.isInteger(value)) throw new Error(`${option}: expected a whole number, got "${text}"`)
  return value
}

/** Seven digits are more than any line can keep; more would only look exact. */
function rounded(value: number): number {
  return Number(value.toPrecision(7))
}

function roundedRow(row: DesignRow): DesignRow {
  return {
    ...row,
    limit: rounded(row.limit),
    arl0: rounded(row.arl0),
    falsePerWeek: rounded(row.falsePerWeek),
    delays: Object.fromEntries(Object.entries(row.delays).map(([shift, delay]) => [shift, rounded(delay)])),
  }
}

function tableText(request: DesignRequest, rows: readonly DesignRow[], known: readonly DesignRow[]): string {
  const { channels, chartsPerChannel, pointsPerWeek, budgetPerWeek } = request
  const header = ['chart', 'limit', 'points between false signals', 'false per week', ...DESIGN_SHIFTS.map((shift) => `${shift} sigma`)]
  const lines = alignColumns([header, ...rows.map(cells), ...known.map(cells)])
  const [headLine = '', ...rowLines] = lines
  const rule = '-'.repeat(headLine.length)
  const text = [
    `${counted(channels, 'channel')}, ${counted(chartsPerChannel, 'chart')} on each, ${counted(pointsPerWeek, 'point')} a week, ${counted(budgetPerWeek, 'false signal')} a week for the whole line`,
    '',
    headLine,
    rule,
    ...rowLines.slice(0, rows.length),
    ...(known.length > 0 ? [rule, ...rowLines.slice(rows.length), '', 'Below the line: textbook limits, and what they would cost on this line.'] : []),
    '"false per week" counts one such chart on every channel; the last columns give the mean points from a shift to the signal.',
  ]
  return `${text.join('\n')}\n`
}

function counted(number: number, noun: string): string {
  return `${number} ${noun}${number === 1 ? '' : 's'}`
}

function cells(row: DesignRow): string[] {
  return [row.chart, row.limit.toFixed(3), count(row.arl0), row.falsePerWeek >= 10 ? count(row.falsePerWeek) : row.falsePerWeek.toPrecision(3), ...DESIGN_SHIFTS.map((shift) => count(row.delays[shift]!))]
}

function count(value: number): string {
  return value < 100 ? value.toFixed(1) : Math.round(value).toLocaleString('en-US')
}

function alignColumns(table: readonly (readonly string[])[]): string[] {
  const widths = (table[0] ?? []).map((_, column) => Math.max(...table.map((row) => row[column]!.length)))
  return table.map((row) => row.map((cell, column) => (column === 0 ? cell.padEnd(widths[column]!) : cell.padStart(widths[column]!))).join('  '))
}
