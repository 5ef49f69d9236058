import type { LineOutput, LineOutputKind } from '../monitor/line-output.js'
import type { Suggestion } from '../maintenance/suggestion.js'
import { evidenceText } from '../maintenance/wording.js'

type Body<K extends LineOutputKind> = Extract<LineOutput, { kind: K }>['body']

/** Version of the outside JSON; raised when a field is renamed or removed, never when one is added. */
export const SCHEMA_VERSION = 1

/** ms UTC as ISO 8601, the only form of a time outside. */
export function isoTime(timeMs: number): string {
  return new Date(timeMs).toISOString()
}

/**
 * The outside form of an output: file line, MQTT payload, server-sent event, HTTP answer and the payload on a wire are
 * all this, so that the same output is the same bytes everywhere. Field order is fixed.
 */
export function outputJson(output: LineOutput): Readonly<Record<string, unknown>> {
  switch (output.kind) {
    case 'reading':
      return { time: isoTime(output.body.timeMs), channel: output.body.channel, value: output.body.value }
    case 'feature':
      return featureJson(output.body)
    case 'state':
      return { time: isoTime(output.body.timeMs), state: output.body.state, previous: output.body.previous, recipe: output.body.recipe, because: output.body.because }
    case 'rejected':
      return { time: isoTime(output.body.timeMs), reason: output.body.reason, where: output.body.where, found: output.body.found, expected: output.body.expected }
    case 'epoch':
      return { time: isoTime(output.body.timeMs), before: isoTime(output.body.beforeMs) }
    case 'point':
      return pointJson(output.body)
    case 'rule-hit':
      return ruleHitJson(output.body)
    case 'rule-end':
      return ruleEndJson(output.body)
    case 'signal':
      return signalJson(output.body)
    case 'baseline':
      return baselineJson(output.body)
    case 'diagnosis':
      return diagnosisJson(output.body)
    case 'suggestion':
      return suggestionJson(output.body)
    case 'fact':
    case 'insight':
      return withIsoTimes(output.body)
    case 'note':
      return { time: isoTime(output.body.timeMs), key: output.body.key, values: output.body.values }
  }
}

/**
 * A body in the outside form: every number whose name ends in `Ms` becomes an ISO time without that ending, `timeMs`
 * becomes `time`; the rest stays as it is.
 */
export function withIsoTimes(body: object): Record<string, unknown> {
  return Object.fromEntries(Object.entries(body).map(([name, value]) => (name.endsWith('Ms') && isTimes(value) ? [timeName(name.slice(0, -2), body), isoOf(value)] : [name, isoInside(value)])))
}

/** Where another field has the name already, the time says that it is one: `statusMs` beside `status` is `statusTime`. */
function timeName(name: string, body: object): string {
  return name in body ? `${name}Time` : name
}

function isTimes(value: unknown): value is number | readonly number[] {
  return typeof value === 'number' || (Array.isArray(value) && value.every((item) => typeof item === 'number'))
}

function isoOf(value: number | readonly number[]): unknown {
  return typeof value === 'number' ? isoTime(value) : value.map(isoTime)
}

function isoInside(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(isoInside)
  return typeof value === 'object' && value !== null ? withIsoTimes(value) : value
}

/** `outputJson` as one line of text. */
export function outputText(output: LineOutput): string {
  return JSON.stringify(outputJson(output))
}

function featureJson(body: Body<'feature'>): Record<string, unknown> {
  return { time: isoTime(body.timeMs), feature: body.feature, value: body.value, weight: body.weight, recipe: body.recipe, state: body.state }
}

export function pointJson(body: Body<'point'>): Record<string, unknown> {
  const { feature, chart, value, statistic, centre, lower, upper, sigma, n, recipe, state, baseline } = body
  return { time: isoTime(body.timeMs), feature, chart, value, statistic, centre, lower, upper, sigma, n, recipe, state, baseline }
}

function ruleHitJson(body: Body<'rule-hit'>): Record<string, unknown> {
  const { feature, chart, rule, side, recipe, state } = body
  return { time: isoTime(body.timeMs), feature, chart, rule, side, points: body.pointTimesMs.map(isoTime), recipe, state }
}

function ruleEndJson(body: Body<'rule-end'>): Record<string, unknown> {
  const { feature, chart, rule, side, recipe, state } = body
  return { time: isoTime(body.timeMs), feature, chart, rule, side, recipe, state }
}

function signalJson(body: Body<'signal'>): Record<string, unknown> {
  const { feature, chart, phase, side, shiftSigma, recipe, state } = body
  return { time: isoTime(body.timeMs), feature, chart, phase, side, onset: isoTime(body.onsetMs), shiftSigma, recipe, state }
}

function baselineJson(body: Body<'baseline'>): Record<string, unknown> {
  const { feature, status, n, target, centre, sigma, reason, recipe, state } = body
  return { time: isoTime(body.timeMs), feature, status, n, target, centre, sigma, ...(reason === undefined ? {} : { reason }), recipe, state }
}

function diagnosisJson(body: Body<'diagnosis'>): Record<string, unknown> {
  const { causes, evidence, checkFirst, abstains, abstainReason, invisible, channelThatWouldTell, features, symptoms } = body
  return {
    time: isoTime(body.timeMs),
    onset: isoTime(body.onsetMs),
    causes,
    evidence,
    checkFirst,
    abstains,
    ...(abstainReason === undefined ? {} : { abstainReason }),
    invisible,
    ...(channelThatWouldTell === undefined ? {} : { channelThatWouldTell }),
    features,
    symptoms: symptoms.map(({ onsetMs, ...rest }) => ({ ...rest, ...(onsetMs > 0 ? { onset: isoTime(onsetMs) } : {}) })),
  }
}

/** A suggestion with its evidence in words (English); `/api/suggestions` has every text in the reader's language. */
export function suggestionJson(suggestion: Suggestion): Record<string, unknown> {
  const { raisedMs, onsetMs, statusMs, history, evidence, id, line, section, zone, due, ...rest } = suggestion
  return {
    schemaVersion: SCHEMA_VERSION,
    id,
    line,
    time: isoTime(raisedMs),
    section,
    ...(zone === undefined ? {} : { zone }),
    raised: isoTime(raisedMs),
    onset: isoTime(onsetMs),
    ...rest,
    ...(due === undefined ? {} : { due: withIsoTimes(due) }),
    evidence: evidence.map((item) => evidenceText(item, 'en-US')),
    evidenceItems: evidence,
    statusTime: isoTime(statusMs),
    history: history.map(({ timeMs, untilMs, ...change }) => ({ time: isoTime(timeMs), ...change, ...(untilMs === undefined ? {} : { until: isoTime(untilMs) }) })),
  }
}
