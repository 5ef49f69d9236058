import type { FeatureSpec } from '../line/features/feature-catalogue.js'
import type { PointBody } from '../ports/line-store.js'
import { isoTime } from './output-json.js'

const COLUMNS = ['time', 'window_start', 'feature', 'unit', 'chart', 'value', 'statistic', 'centre', 'lower', 'upper', 'sigma', 'n', 'recipe', 'state', 'baseline'] as const

/** Points as a table: one line a point, times in UTC, the feature's own unit. */
export function pointsCsv(points: readonly PointBody[], spec: FeatureSpec): string {
  const rows = points.map((point) =>
    [isoTime(point.timeMs), isoTime(point.timeMs - spec.windowS * 1000), point.feature, spec.unit, point.chart, point.value, point.statistic, point.centre, point.lower, point.upper, point.sigma, point.n, point.recipe, point.state, point.baseline].map(csvCell).join(','),
  )
  return `${[COLUMNS.join(','), ...rows].join('\r\n')}\r\n`
}

/**
 * One cell. A text that a spreadsheet would take for a formula gets an apostrophe in front; numbers, also negative ones,
 * stay numbers.
 */
export function csvCell(value: string | number): string {
  if (typeof value === 'number') return String(value)
  const harmless = /^[=+\-@\t\r\n]/.test(value.trimStart()) || /^[\t\r\n]/.test(value) ? `'${value}` : value
  return /[",\r\n]/.test(harmless) ? `"${harmless.replaceAll('"', '""')}"` : harmless
}
