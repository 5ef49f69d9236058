import type { FeatureEvidence } from '../line/diagnosis.js'
import type { FeatureSpec } from '../line/features/feature-spec.js'
import type { Section } from '../line/feature-value.js'
import { effectLossShare } from '../spc/effort-regression.js'
import { loopVerdict, type LoopEvidence, type LoopVerdict } from '../spc/effort-verdict.js'
import type { EffortInsight } from './insight.js'
import { DUTY_STOP_PERCENT } from './insight-limits.js'

/** One controlled value with the effort behind it. */
export interface ControlLoop {
  readonly section: Section
  readonly zone?: number
  readonly duty: string
  readonly temperature: string
  /** Features: the value off its set-point, the effort at given set-point, load and ambient, the value's swing. */
  readonly result: string
  readonly effort: string
  readonly swing: string
}

/** Plain JSON: what is known of one loop's actuator lately, and what was said of it. */
export interface LoopState {
  /** Readings in production, at a stop, and the sum of the duty, %; all fade within hours. */
  n: number
  stops: number
  dutySum: number
  verdict: LoopVerdict
  saidMs: number
}

/** Closed-loop time constants: zone 400 s, pot half an hour [ASM]. */
const ZONE_TIME_CONSTANT_MS = 400_000
const POT_TIME_CONSTANT_MS = 1_800_000
/** What the actuator did fades with this time. */
const FADE_MS = 2 * 3_600_000
const DAY_MS = 24 * 3_600_000
const SAYS_NOTHING: readonly LoopVerdict[] = ['in-order', 'too-early', 'restart-after-change']

export function createLoopState(): LoopState {
  return { n: 0, stops: 0, dutySum: 0, verdict: 'in-order', saidMs: 0 }
}

/** The loops whose result and effort both have charts. */
export function controlLoops(specs: readonly FeatureSpec[]): readonly ControlLoop[] {
  const known = new Set(specs.map(({ feature }) => feature))
  return specs
    .filter(({ feature }) => feature.endsWith('.duty.effort'))
    .map(({ feature, section, zone }): ControlLoop => {
      const part = feature.slice(0, -'.duty.effort'.length)
      const swing = part === 'pot' ? 'pot.temperature.spread' : `${part}.temperature.slow`
      return { section, ...(zone === undefined ? {} : { zone }), duty: `${part}.duty`, temperature: `${part}.temperature`, result: `${part}.temperature.offset`, effort: feature, swing }
    })
    .filter(({ result }) => known.has(result))
}

/** Takes one reading of the loop's duty while the line produces. */
export function noteDuty(state: LoopState, percent: number): void {
  state.n += 1
  state.dutySum += percent
  if (percent >= DUTY_STOP_PERCENT) state.stops += 1
}

/** Mean duty lately, %; 0 where there is none. */
export function meanDuty(state: LoopState): number {
  return state.n > 0 ? state.dutySum / state.n : 0
}

export interface LoopLook {
  readonly timeMs: number
  readonly passedMs: number
  readonly recipe: string
  readonly recipeSinceMs: number
  readonly evidenceOf: (feature: string) => FeatureEvidence | undefined
  readonly otherLoops: readonly ControlLoop[]
  /** Whether a channel's readings stand still. */
  readonly isFrozen: (channel: string) => boolean
}

/** Reads result and effort together; says a verdict that is new, once a day while it stands, and when it is over. */
export function stepLoop(state: LoopState, loop: ControlLoop, look: LoopLook, say: (insight: EffortInsight) => void): void {
  const { timeMs } = look
  const evidence = loopEvidence(state, loop, look)
  const verdict = evidence === undefined ? 'in-order' : loopVerdict(evidence)
  const fade = Math.exp(-Math.max(0, look.passedMs) / FADE_MS)
  const insight = insightOf(state, loop, look, verdict)
  state.n *= fade
  state.stops *= fade
  state.dutySum *= fade
  const isNews = verdict !== state.verdict && !(SAYS_NOTHING.includes(verdict) && SAYS_NOTHING.includes(state.verdict))
  const isDue = !SAYS_NOTHING.includes(verdict) && timeMs - state.saidMs >= DAY_MS
  state.verdict = verdict
  if (!isNews && !isDue) return
  state.saidMs = timeMs
  say(insight)
}

/** Undefined where one of the two charts says nothing either way: half a pair has no verdict. */
function loopEvidence(state: LoopState, loop: ControlLoop, look: LoopLook): LoopEvidence | undefined {
  const result = look.evidenceOf(loop.result)
  const effort = look.evidenceOf(loop.effort)
  if (result === undefined || effort === undefined || !isDecided(effort) || !isDecided(result)) return undefined
  const effortState = effort.status === 'up' ? 'high' : effort.status === 'down' ? 'low' : 'quiet'
  const timeConstantMs = loop.section === 'pot' ? POT_TIME_CONSTANT_MS : ZONE_TIME_CONSTANT_MS
  const swing = look.evidenceOf(loop.swing)
  return {
    result: result.status === 'quiet' ? 'quiet' : 'signal',
    effort: effortState,
    steadyTimeConstants: effortState === 'quiet' ? 0 : (look.timeMs - effort.onsetMs) / timeConstantMs,
    saturatedShare: state.n > 0 ? state.stops / state.n : 0,
    neighboursMoved: effortState !== 'quiet' && neighboursMoved(loop, effort, look),
    resultFlat: look.isFrozen(loop.temperature),
    resultRestless: swing?.status === 'up',
    justChanged: effortState !== 'quiet' && Math.abs(effort.onsetMs - look.recipeSinceMs) < timeConstantMs,
  }
}

function isDecided({ status }: FeatureEvidence): boolean {
  return status === 'quiet' || status === 'up' || status === 'down'
}

/** At least half of the neighbours, and one, moved the same way. */
function neighboursMoved(loop: ControlLoop, effort: FeatureEvidence, { otherLoops, evidenceOf }: LoopLook): boolean {
  const others = otherLoops.filter((other) => other !== loop && other.section === loop.section)
  const same = others.filter((other) => evidenceOf(other.effort)?.status === effort.status)
  return same.length > 0 && 2 * same.length >= others.length
}

function insightOf(state: LoopState, loop: ControlLoop, look: LoopLook, verdict: LoopVerdict): EffortInsight {
  const result = look.evidenceOf(loop.result)
  const effort = look.evidenceOf(loop.effort)
  const now = effort === undefined ? 0 : effort.centre + effort.shift
  const isUp = effort?.status === 'up' && now > 0
  return {
    type: 'effort',
    timeMs: look.timeMs,
    section: loop.section,
    ...(loop.zone === undefined ? {} : { zone: loop.zone }),
    verdict,
    feature: loop.result,
    recipe: look.recipe,
    effortFeature: loop.effort,
    resultSigma: result?.shiftSigma ?? 0,
    effortSigma: effort?.shiftSigma ?? 0,
    ...(isUp ? { effectLossShare: effectLossShare(now, effort.centre) } : {}),
    saturatedShare: state.n > 0 ? state.stops / state.n : 0,
    ...(effort !== undefined && effort.onsetMs > 0 ? { onsetMs: effort.onsetMs } : {}),
  }
}
