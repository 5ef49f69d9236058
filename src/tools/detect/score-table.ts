import { casesOf, falseSuggestions, scoreDetections, type EpisodeResult, type FaultCase, type PracticeScore } from './detection-score.js'
import { median, type Figure } from './intervals.js'

interface Row {
  readonly name: string
  /** Goal for the minimum set and for the rich set. */
  readonly goals?: readonly [minimum: string, rich: string]
  readonly cell: (score: PracticeScore, naive: boolean) => string
}

const percent = ({ value, lower, upper, n }: Figure): string => (n === 0 ? '-' : `${(100 * value).toFixed(1)} % (${(100 * lower).toFixed(1)}-${(100 * upper).toFixed(1)}) n ${n}`)
const number = (digits: number) => ({ value, lower, upper, n }: Figure): string => (n === 0 ? '-' : `${shown(value, digits)} (${shown(lower, digits)}-${shown(upper, digits)}) n ${n}`)
const rate = ({ value, lower, upper, n }: Figure): string => upper > 1e4 ? '-' : `${value.toFixed(2)} (${lower.toFixed(2)}-${upper.toFixed(2)}) of ${n}`
const shown = (value: number, digits: number): string => (Number.isFinite(value) ? value.toFixed(digits) : 'never')
const unlessNaive = (cell: (score: PracticeScore) => string) => (score: PracticeScore, naive: boolean): string => (naive ? 'names none' : cell(score))

const ROWS: readonly Row[] = [
  { name: 'fault episodes / healthy production days', cell: (score) => `${score.faultEpisodes} / ${score.healthyDays.toFixed(0)}` },
  { name: 'false suggestions per 100 healthy production days', goals: ['<= 1', '<= 1'], cell: (score) => rate(score.falsePer100Days) },
  { name: '  during the first three', cell: (score) => rate(score.falseWhileNew) },
  { name: 'observable faults suggested before severity 0.8', goals: ['>= 90 %', '>= 95 %'], cell: (score) => percent(score.found) },
  { name: '  the same, weakly observable ones as well', cell: (score) => percent(score.foundWithWeak) },
  { name: '  the oracle alone finds', cell: (score, naive) => (naive ? '' : percent(score.oracleFound)) },
  { name: 'median severity when suggested', goals: ['<= 0.5', '<= 0.4'], cell: (score) => number(2)(score.severity) },
  { name: 'delay beside the oracle, median ratio', cell: (score) => number(2)(score.oracleRatio) },
  { name: '  within 2x or oracle + confirmation', goals: ['all', 'all'], cell: (score) => percent(score.oracleWithin) },
  { name: 'section right, first suggestion', goals: ['>= 85 %', '>= 95 %'], cell: (score) => percent(score.section) },
  { name: '  zone right, where the section is', cell: unlessNaive((score) => percent(score.zone)) },
  { name: 'cause or its group right, first place', goals: ['>= 75 %', '>= 80 %'], cell: unlessNaive((score) => percent(score.causeFirst)) },
  { name: 'cause or its group right, first two', goals: ['>= 90 %', '>= 92 %'], cell: unlessNaive((score) => percent(score.causeFirstTwo)) },
  { name: 'expected calibration error', goals: ['<= 0.05', '<= 0.05'], cell: unlessNaive((score) => number(3)(score.calibrationError)) },
  { name: 'invisible faults claimed with p >= 0.5', goals: ['0', '0'], cell: unlessNaive((score) => `${score.invisibleClaimed} of ${score.suggestions} suggestions`) },
  { name: 'lines with an invisible fault told of what is not there', cell: unlessNaive((score) => percent(score.wrongOnInvisible)) },
  { name: 'two observable faults at once, both suggested in time', cell: (score) => percent(score.bothFound) },
]

/** One table: goals, detector and yardstick for each channel set, 95 % intervals in brackets. */
export function scoreTable(results: readonly EpisodeResult[], sets: readonly string[]): string {
  const columns = sets.flatMap((set) => {
    const own = results.filter(({ channels }) => channels === set)
    const goal = (row: Row): string => row.goals?.[set === 'rich' ? 1 : 0] ?? ''
    const detector = scoreDetections(own)
    const unconfirmed = scoreDetections(own, ({ unconfirmed: said }) => said)
    const naive = scoreDetections(own, ({ naive: said }) => said)
    return [
      { head: 'goal', cell: goal },
      { head: `${set}: detector`, cell: (row: Row) => row.cell(detector, false) },
      { head: `${set}: told at once`, cell: (row: Row) => row.cell(unconfirmed, true) },
      { head: `${set}: naive`, cell: (row: Row) => row.cell(naive, true) },
    ]
  })
  return aligned([['', ...columns.map(({ head }) => head)], ...ROWS.map((row) => [row.name, ...columns.map(({ cell }) => cell(row))])])
}

/** What was suggested while nothing was wrong, by place and lead. */
export function falseTable(results: readonly EpisodeResult[], set: string): string {
  const counts = new Map<string, number>()
  for (const result of results.filter(({ channels }) => channels === set)) {
    for (const { section, causes } of falseSuggestions(result)) {
      const key = `${section}: ${causes[0]?.cause ?? ''}`
      counts.set(key, (counts.get(key) ?? 0) + 1)
    }
  }
  return `${set}, false suggestions: ${[...counts].sort((a, b) => b[1] - a[1]).map(([key, count]) => `${key} ${count}`).join(', ') || 'none'}`
}

/** Found, late and missed by cause, with severity and delay. */
export function causeTable(results: readonly EpisodeResult[], set: string): string {
  const cases = casesOf(results.filter(({ channels, faults }) => channels === set && faults.length === 1))
  const groups = new Map<string, FaultCase[]>()
  for (const one of cases) {
    const { cause, zone, observability } = one.fault
    const key = `${cause}${cause === 'ageing-element' ? (zone === undefined ? ' (pot)' : ' (zone)') : ''}|${observability}`
    groups.set(key, [...(groups.get(key) ?? []), one])
  }
  const rows = [...groups].sort(([a], [b]) => (a < b ? -1 : 1)).map(([key, own]) => causeRow(key, own))
  return aligned([['cause', set, 'n', 'found', 'late', 'missed', 'severity', 'delay h', 'section', 'cause 1st', 'oracle found', 'oracle h', 'its feature'], ...rows])
}

function causeRow(key: string, own: readonly FaultCase[]): string[] {
  const [cause = '', observability = ''] = key.split('|')
  const found = own.filter(({ inTime }) => inTime)
  const late = own.filter(({ right, inTime }) => right !== undefined && !inTime)
  const firsts = own.filter(({ first }) => first !== undefined)
  const oracle = own.flatMap(({ fault }) => (fault.oracle?.hours === undefined ? [] : [fault.oracle.hours]))
  const features = new Map<string, number>()
  for (const { fault } of own) if (fault.oracle !== undefined) features.set(shortName(fault.oracle.feature), (features.get(shortName(fault.oracle.feature)) ?? 0) + 1)
  const usual = [...features].sort((a, b) => b[1] - a[1])[0]
  const middle = (values: readonly number[], digits: number): string => (values.length === 0 ? '-' : median(values).toFixed(digits))
  return [
    cause,
    observability,
    String(own.length),
    String(found.length),
    String(late.length),
    String(own.length - found.length - late.length),
    middle(found.filter(({ fault }) => !fault.step).map(({ right, index }) => right!.severities[index]!), 2),
    middle(found.map(({ right, index }) => right!.hours[index]!), 1),
    `${firsts.filter(({ first, fault }) => first!.section === fault.section).length}/${firsts.length}`,
    `${firsts.filter(({ first, fault }) => first!.causes[0]?.members.includes(fault.cause)).length}/${firsts.length}`,
    String(oracle.length),
    middle(oracle, 1),
    usual === undefined ? '' : `${usual[0]} ${usual[1]}x`,
  ]
}

function shortName(feature: string): string {
  return feature.replace(/zone-\d+/, 'zone-<n>')
}

function aligned(rows: readonly (readonly string[])[]): string {
  const widths = rows[0]!.map((_, column) => Math.max(...rows.map((row) => (row[column] ?? '').length)))
  return rows.map((row) => row.map((cell, column) => cell.padEnd(widths[column]!)).join('  ').trimEnd()).join('\n')
}
