import { featureParts } from '../../line/diagnosis/symptom-map.js'
import type { FeatureSpec } from '../../line/features/feature-catalogue.js'
import type { LineDefinition } from '../../line/line-definition.js'
import type { ProofFact } from './proof-fact.js'
import { proofFeatures, type ProofFeature } from './proof-features.js'
import { between, pushValue, rateOf, type ValueStretch } from './proof-history.js'
import { followUpOf, isSameWork, overlaps, touches } from './proof-overlap.js'
import type { ProofCase, ProofState, ProvenWork } from './proof-state.js'
import { proofVerdict, type ProofSeries, type ProofStratum } from './proof-verdict.js'

const DAY_MS = 86_400_000
/** Run-in after work: 1-2 h of production [CP]; nothing is judged within it. */
export const RUN_IN_MS = 5_400_000
const BEFORE_KEPT = 36
const BEFORE_KEPT_RARE = 10
const AFTER_KEPT = 66
/** Values older than this say nothing of the state before the work. [ASM] */
const BEFORE_REACH_MS = 7 * DAY_MS
const BEFORE_REACH_RARE_MS = 30 * DAY_MS
/** After so long without like to compare with like there will be no verdict. [ASM] */
const WAIT_MS_MAX = 21 * DAY_MS
const BEFORE_MIN = 3

export type CaseAnswer = Pick<ProofFact, 'verdict' | 'because' | 'compared' | 'verdictByMs' | 'with' | 'offersReference'>

/** Takes down what stood before the work; values since then, of a record that came late, are taken over. */
export function openCase(work: ProvenWork, state: ProofState, definition: LineDefinition): ProofCase {
  const wanted = proofFeatures(definition, work.work, work.zone)
  const features = [...new Set(wanted.flatMap(({ spec }) => [spec.feature, ...controlsOf(spec.feature, definition)]))]
  const rare = new Set(wanted.filter((one) => one.rare).map(({ spec }) => featureParts(spec.feature).pattern))
  const one: ProofCase = { work, features, before: {}, after: {}, references: {} }
  for (const feature of features) {
    const isRare = rare.has(featureParts(feature).pattern)
    for (const [recipe, stretch] of Object.entries(state.histories[feature]?.recipes ?? {})) {
      const key = `${feature} ${recipe}`
      const before = between(stretch, work.startMs - (isRare ? BEFORE_REACH_RARE_MS : BEFORE_REACH_MS), work.startMs)
      const kept = isRare ? BEFORE_KEPT_RARE : BEFORE_KEPT
      if (before.timesS.length > 0) one.before[key] = { timesS: before.timesS.slice(-kept), values: before.values.slice(-kept) }
      const after = between(stretch, work.doneMs, Number.MAX_SAFE_INTEGER)
      if (after.timesS.length > 0) one.after[key] = after
      const level = state.levels[key] ?? state.levels[`${feature} all`]
      if (level?.usable === true) one.references[key] = { centre: level.centre, sigma: level.sigma, n: level.n }
    }
  }
  return one
}

/** The same feature of the other zones; none for what does not sit in a zone. */
function controlsOf(feature: string, definition: LineDefinition): string[] {
  const { pattern, zone } = featureParts(feature)
  if (zone === undefined) return []
  return definition.machine.zones.flatMap((_zone, index) => (index + 1 === zone ? [] : [pattern.replace('<n>', String(index + 1))]))
}

export function takeAfter(one: ProofCase, feature: string, recipe: string, timeMs: number, value: number): void {
  if (timeMs <= one.work.doneMs || !one.features.includes(feature)) return
  const stretch = (one.after[`${feature} ${recipe}`] ??= { timesS: [], values: [] })
  // The first values after the work count, not the last.
  if (stretch.timesS.length < AFTER_KEPT) pushValue(stretch, timeMs, value, AFTER_KEPT)
}

interface Bounds {
  /** Values before the work count from here … */
  readonly beforeFromMs: number
  readonly startMs: number
  /** … and after it from here, once the run-in is over, … */
  readonly afterFromMs: number | undefined
  /** … up to here. */
  readonly afterUntilMs: number
  readonly spoilt?: { readonly reason: string; readonly with: NonNullable<ProofFact['with']> }
  readonly followUpMissing: boolean
  readonly sameWork: readonly ProvenWork[]
}

/** What can be said of a job now. */
export function judgeCase(one: ProofCase, state: ProofState, definition: LineDefinition, specOf: ReadonlyMap<string, FeatureSpec>, nowMs: number): CaseAnswer {
  const bounds = boundsOf(one.work, state, definition)
  const company = bounds.sameWork.length === 0 ? {} : { with: bounds.sameWork.map(mention) }
  const spoilt = bounds.spoilt === undefined ? undefined : { verdict: 'not-attributable' as const, because: [bounds.spoilt.reason], ...(bounds.spoilt.with.length > 0 ? { with: bounds.spoilt.with } : company) }
  const features = proofFeatures(definition, one.work.work, one.work.zone)
  const series = features.map((feature) => seriesOf(feature, one, bounds, state, definition, specOf))
  const answer = proofVerdict({ series, ...(one.work.finding === undefined ? {} : { finding: one.work.finding }), followUpMissing: bounds.followUpMissing })
  const because = [...answer.because, ...(bounds.sameWork.length > 0 && answer.verdict !== 'too-early' ? ['proof.with-follow-up'] : [])]
  if (answer.verdict !== 'too-early') {
    // Verdicts on what was spoilt from the first are none.
    if (spoilt !== undefined && bounds.afterFromMs === undefined) return { ...spoilt, compared: [] }
    return { verdict: answer.verdict, because, compared: answer.compared, ...company, ...(answer.betterThanReference.length > 0 && answer.verdict === 'helped' ? { offersReference: answer.betterThanReference } : {}) }
  }
  if (spoilt !== undefined && (bounds.afterFromMs === undefined || bounds.afterUntilMs <= nowMs)) return { ...spoilt, compared: answer.compared }
  if (Object.values(one.before).every(({ timesS }) => timesS.length < BEFORE_MIN)) return { verdict: 'not-attributable', because: ['proof.no-values-before'], compared: [], ...company }
  if (nowMs - one.work.doneMs > WAIT_MS_MAX) return { verdict: 'not-attributable', because: ['proof.no-like-with-like'], compared: answer.compared, ...company }
  return { verdict: 'too-early', because, compared: answer.compared, ...company, verdictByMs: verdictByMs(answer.wanted, features, one, bounds, state, nowMs) }
}

function boundsOf(work: ProvenWork, state: ProofState, definition: LineDefinition): Bounds {
  const others = state.works.filter((other) => other.record !== work.record)
  const sameWork = others.filter((other) => isSameWork(work, other) && !isJudgedApart(work, other, state))
  const whole = [work, ...sameWork]
  const startMs = Math.min(...whole.map((one) => one.startMs))
  const doneMs = Math.max(...whole.map((one) => one.doneMs))
  const followUp = followUpOf(work.work)
  const followUpMissing = followUp !== undefined && !sameWork.some((other) => other.work === followUp && other.doneMs >= work.doneMs)
  const rivals = others.filter((other) => !sameWork.includes(other) && whole.some((one) => overlaps(one, other, definition)))
  const runInEndMs = runInEnd(doneMs, state)
  const earlier = rivals.filter((other) => other.doneMs <= doneMs)
  const later = rivals.filter((other) => other.doneMs > doneMs).sort((a, b) => a.startMs - b.startMs)
  const base = { startMs, followUpMissing, sameWork, afterFromMs: runInEndMs }
  // A job that was begun before the other's run-in was over: nothing lies between them.
  const atOnce = [...earlier.filter((other) => (runInEnd(other.doneMs, state) ?? Infinity) >= startMs), ...later.filter((other) => runInEndMs === undefined || other.startMs <= runInEndMs)]
  if (atOnce.length > 0) return { ...base, beforeFromMs: 0, afterFromMs: undefined, afterUntilMs: 0, spoilt: { reason: 'proof.two-jobs-at-once', with: atOnce.map(mention) } }
  const disturbances = state.disturbances.filter((one) => touches(one, work))
  const between = disturbances.find(({ timeMs }) => timeMs > startMs && timeMs <= (runInEndMs ?? Infinity))
  if (between !== undefined) return { ...base, beforeFromMs: 0, afterFromMs: undefined, afterUntilMs: 0, spoilt: { reason: between.reason, with: [] } }
  const beforeFromMs = Math.max(0, ...earlier.map((other) => runInEnd(other.doneMs, state) ?? 0), ...disturbances.filter(({ timeMs }) => timeMs <= startMs).map(({ timeMs }) => timeMs))
  const rival = later[0]
  const disturbed = disturbances.find(({ timeMs }) => timeMs > (runInEndMs ?? doneMs))
  const ends = [...(rival === undefined ? [] : [{ timeMs: rival.startMs, reason: 'proof.two-jobs-at-once', with: [mention(rival)] }]), ...(disturbed === undefined ? [] : [{ timeMs: disturbed.timeMs, reason: disturbed.reason, with: [] }])].sort((a, b) => a.timeMs - b.timeMs)
  const end = ends[0]
  return { ...base, beforeFromMs, afterUntilMs: end?.timeMs ?? Number.MAX_SAFE_INTEGER, ...(end === undefined ? {} : { spoilt: { reason: end.reason, with: end.with } }) }
}

/** What was judged without its follow-up stands by itself: the follow-up that came after that is proven against the time between. */
function isJudgedApart(a: ProvenWork, b: ProvenWork, { facts }: Pick<ProofState, 'facts'>): boolean {
  const [first, second] = a.doneMs <= b.doneMs ? [a, b] : [b, a]
  const said = facts.find(({ record }) => record === first.record)
  return said !== undefined && said.because.includes('proof.follow-up-missing') && said.timeMs <= second.startMs
}

function mention({ record, work, zone }: ProvenWork): NonNullable<ProofFact['with']>[number] {
  return { record, work, ...(zone === undefined ? {} : { zone }) }
}

/** When the line had produced through the run-in after `fromMs`; undefined while it has not. */
export function runInEnd(fromMs: number, { producing }: Pick<ProofState, 'producing'>): number | undefined {
  let left = RUN_IN_MS
  for (let i = 0; i < producing.length; i += 1) {
    const { timeMs, on } = producing[i]!
    if (!on) continue
    const from = Math.max(fromMs, timeMs)
    const to = producing[i + 1]?.timeMs ?? Number.MAX_SAFE_INTEGER
    if (to - from >= left) return from + left
    if (to > from) left -= to - from
  }
  return undefined
}

function seriesOf({ spec, bad, strength, rare }: ProofFeature, one: ProofCase, bounds: Bounds, state: ProofState, definition: LineDefinition, specOf: ReadonlyMap<string, FeatureSpec>): ProofSeries {
  const disturbedZones = new Set(state.works.filter((other) => other.record !== one.work.record && Math.abs(other.doneMs - one.work.doneMs) < 2 * DAY_MS).map(({ zone }) => zone))
  const controls = rare ? [] : controlsOf(spec.feature, definition).filter((feature) => specOf.has(feature) && !disturbedZones.has(featureParts(feature).zone))
  return {
    feature: spec.feature,
    mechanism: spec.mechanism,
    bad,
    strength,
    rare,
    sigmaFloor: spec.sigmaFloor,
    strata: strataOf(spec, one, bounds),
    controls: controls.map((feature) => strataOf(specOf.get(feature)!, one, bounds)),
  }
}

/** Like with like: recipe by recipe; a level that no recipe touches is compared over all where no recipe ran both times. */
function strataOf(spec: FeatureSpec, one: ProofCase, bounds: Bounds): ProofStratum[] {
  const prefix = `${spec.feature} `
  const before = inside(one.before, prefix, bounds.beforeFromMs, bounds.startMs)
  // A window counts when all of it lies after the run-in.
  const after = bounds.afterFromMs === undefined ? {} : inside(one.after, prefix, bounds.afterFromMs + spec.windowS * 1000 - 1, bounds.afterUntilMs)
  const recipes = Object.keys(before).filter((recipe) => (before[recipe]?.values.length ?? 0) >= BEFORE_MIN && (after[recipe]?.values.length ?? 0) > 0)
  const reference = (recipe: string): Pick<ProofStratum, 'reference'> => {
    const found = one.references[`${prefix}${recipe}`]
    return found === undefined ? {} : { reference: found }
  }
  if (recipes.length > 0) return recipes.map((recipe) => ({ recipe, before: before[recipe]!.values, after: after[recipe]!.values, ...reference(recipe) }))
  const usual = Object.keys(before).sort((a, b) => before[b]!.values.length - before[a]!.values.length)[0]
  if (!spec.perRecipe && spec.atUsualRecipe === undefined && usual !== undefined) return [{ recipe: 'all', before: merged(before), after: merged(after), ...reference(usual) }]
  return usual === undefined ? [] : [{ recipe: usual, before: before[usual]!.values, after: [], ...reference(usual) }]
}

function inside(stretches: Readonly<Record<string, ValueStretch>>, prefix: string, fromMs: number, toMs: number): Record<string, ValueStretch> {
  return Object.fromEntries(Object.entries(stretches).filter(([key]) => key.startsWith(prefix)).map(([key, stretch]) => [key.slice(prefix.length), between(stretch, fromMs, toMs)]))
}

function merged(stretches: Readonly<Record<string, ValueStretch>>): number[] {
  return Object.values(stretches)
    .flatMap(({ timesS, values }) => timesS.map((timeS, i) => ({ timeS, value: values[i]! })))
    .sort((a, b) => a.timeS - b.timeS)
    .map(({ value }) => value)
}

/** When the windows still wanted will have come, at the pace of the last days. */
function verdictByMs(wanted: { readonly feature: string; readonly windows: number } | undefined, features: readonly ProofFeature[], one: ProofCase, bounds: Bounds, state: ProofState, nowMs: number): number {
  const feature = features.find(({ spec }) => spec.feature === wanted?.feature) ?? features.find(({ rare }) => !rare) ?? features[0]!
  const recipes = Object.keys(one.before).filter((key) => key.startsWith(`${feature.spec.feature} `)).map((key) => key.slice(feature.spec.feature.length + 1))
  const known = recipes.flatMap((recipe) => rateOf(state.histories[feature.spec.feature]?.recipes[recipe] ?? { timesS: [], values: [] }) ?? [])
  const rate = known.length > 0 ? known.reduce((sum, one) => sum + one, 0) : feature.spec.pointsPerWeek / (7 * DAY_MS)
  const windows = wanted?.windows ?? (feature.rare ? 3 : 6)
  const runInWindows = bounds.afterFromMs === undefined ? RUN_IN_MS / (feature.spec.windowS * 1000) : 0
  return Math.round(nowMs + Math.min(WAIT_MS_MAX, (windows + runInWindows) / rate))
}
