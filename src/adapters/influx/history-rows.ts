import type { IPoint } from 'influx'
import type { StoredOutput } from '../../ports/line-store.js'

type Tags = Readonly<Record<string, string | number | undefined>>
type Fields = Readonly<Record<string, string | number | boolean | undefined>>

/**
 * One stored output as a row of the time series database; undefined for kinds that are not copied there.
 *
 * Measurements: `chart_point`, `rule_hit`, `rule_end`, `signal`, `line_state`, `suggestion`. Times in ms UTC.
 */
export function historyRow(stored: StoredOutput): IPoint | undefined {
  const { line, output } = stored
  switch (output.kind) {
    case 'point': {
      const { timeMs, feature, chart, recipe, state, baseline, value, statistic, centre, lower, upper, sigma, n } = output.body
      return row('chart_point', timeMs, { line, feature, chart, recipe, state, baseline }, { value, statistic, centre, lower, upper, sigma, n })
    }
    case 'rule-hit': {
      const { timeMs, feature, chart, recipe, state, rule, side, pointTimesMs } = output.body
      return row('rule_hit', timeMs, { line, feature, chart, recipe, state, rule, side }, { points: pointTimesMs.length, first_point_ms: pointTimesMs[0] })
    }
    case 'rule-end': {
      const { timeMs, feature, chart, recipe, state, rule, side } = output.body
      return row('rule_end', timeMs, { line, feature, chart, recipe, state, side }, { rule })
    }
    case 'signal': {
      const { timeMs, feature, chart, recipe, state, side, phase, onsetMs, shiftSigma } = output.body
      return row('signal', timeMs, { line, feature, chart, recipe, state, side, phase }, { onset_ms: onsetMs, shift_sigma: shiftSigma })
    }
    case 'state': {
      const { timeMs, state, previous, recipe, because } = output.body
      return row('line_state', timeMs, { line }, { state, previous, recipe, because })
    }
    case 'suggestion': {
      const { statusMs, section, zone, status, id, urgency, causes, raisedMs } = output.body
      const [leading] = causes
      return row('suggestion', statusMs, { line, section, zone, status, id }, { urgency, raised_ms: raisedMs, cause: leading?.cause, probability: leading?.probability })
    }
    default:
      return undefined
  }
}

/**
 * The server refuses empty tags, line breaks and a backslash at the end in them, and fields that are not finite:
 * tags are cleaned, and what cannot be a tag or a field is left out. Without any field there is no row.
 */
function row(measurement: string, timeMs: number, tags: Tags, fields: Fields): IPoint | undefined {
  const cleanTags: Record<string, string> = {}
  for (const [name, value] of Object.entries(tags)) {
    const text = cleanTag(String(value ?? ''))
    if (text !== '') cleanTags[name] = text
  }
  const cleanFields: Record<string, string | number | boolean> = {}
  for (const [name, value] of Object.entries(fields)) {
    if (value === undefined || (typeof value === 'number' && !Number.isFinite(value))) continue
    cleanFields[name] = typeof value === 'string' ? cleanText(value) : value
  }
  if (Object.keys(cleanFields).length === 0 || !Number.isSafeInteger(timeMs)) return undefined
  return { measurement, tags: cleanTags, fields: cleanFields, timestamp: timeMs }
}

function cleanTag(text: string): string {
  return cleanText(text).trim()
}

/** Line breaks end a row and a backslash may swallow the sign after it. */
function cleanText(text: string): string {
  return text.replaceAll(/\p{Cc}+/gu, ' ').replaceAll('\\', '/')
}
