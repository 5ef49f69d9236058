import { bootstrapFigure, median, rateFigure, shareFigure, type Figure } from './intervals.js'
import type { Observability } from './observability.js'
import type { OracleFinding } from './oracle.js'

/** What one simulated line brought out, reduced to what the score needs. Plain JSON. */
export interface EpisodeResult {
  readonly seed: number
  readonly channels: string
  readonly kind: string
  /** None on a healthy line, two where two grow at once. */
  readonly faults: readonly TrueFault[]
  /** Faults the channels of this line cannot show at all. */
  readonly invisible: readonly string[]
  readonly productionDays: number
  /** Production days before the first onset; all of them on a healthy line. */
  readonly healthyDays: number
  readonly suggestions: readonly ScoredSuggestion[]
  /** What the yardstick would have suggested. */
  readonly naive: readonly ScoredSuggestion[]
  /** What the detector's own charts would have suggested at once. */
  readonly unconfirmed: readonly ScoredSuggestion[]
}

export interface TrueFault {
  readonly cause: string
  readonly zone?: number
  readonly section: string
  readonly variant?: string
  readonly observability: Observability
  /** There at once and not grown. */
  readonly step: boolean
  readonly onsetMs: number
  /** Hours of production after the onset and severity at which the oracle signalled, if it did. */
  readonly oracle?: Omit<OracleFinding, 'foundMs'> & { readonly hours?: number; readonly severity?: number }
}

export interface ScoredSuggestion {
  readonly raisedMs: number
  readonly section: string
  readonly zone?: number
  /** Production days since the line began. */
  readonly day: number
  /** Severity of each true fault when raised, 0-1. */
  readonly severities: readonly number[]
  /** Production hours since the onset of each true fault. */
  readonly hours: readonly number[]
  /** Highest true severity of any cause the lead names. */
  readonly leadSeverity: number
  readonly causes: readonly { readonly cause: string; readonly members: readonly string[]; readonly probability: number }[]
}

/** Production days a line is given to learn from. */
export const CLEAN_START_DAYS = 3
/** Severity by which a fault must have been suggested. */
export const SEVERITY_LIMIT = 0.8
/** A fault that is there at once has its full severity from the first moment: it must be suggested within a production day. */
export const STEP_HOURS_LIMIT = 16
/** Time a suspicion must stand before it is suggested; what the goal grants the detector beyond the oracle, production hours. */
export const CONFIRMATION_HOURS = 1.5
/** A cause of at least this severity is really there. */
const PRESENT = 0.2

/** One fault of one line with what was suggested after its onset. */
export interface FaultCase {
  readonly result: EpisodeResult
  readonly fault: TrueFault
  readonly index: number
  /** First suggestion after the onset, of whatever section. */
  readonly first?: ScoredSuggestion
  /** First suggestion of the fault's section after the onset. */
  readonly right?: ScoredSuggestion
  readonly inTime: boolean
}

export interface PracticeScore {
  readonly faultEpisodes: number
  readonly healthyDays: number
  /** After the clean start. */
  readonly falsePer100Days: Figure
  /** During the clean start. */
  readonly falseWhileNew: Figure
  readonly found: Figure
  readonly foundWithWeak: Figure
  readonly severity: Figure
  readonly section: Figure
  readonly zone: Figure
  readonly causeFirst: Figure
  readonly causeFirstTwo: Figure
  readonly calibrationError: Figure
  readonly invisibleClaimed: number
  readonly suggestions: number
  readonly wrongOnInvisible: Figure
  readonly oracleRatio: Figure
  readonly oracleWithin: Figure
  readonly oracleFound: Figure
  readonly bothFound: Figure
}

export function casesOf(results: readonly EpisodeResult[], said: (result: EpisodeResult) => readonly ScoredSuggestion[] = (result) => result.suggestions): FaultCase[] {
  return results.flatMap((result) => result.faults.map((fault, index): FaultCase => {
    const after = said(result).filter((suggestion) => suggestion.raisedMs >= fault.onsetMs)
    const first = after[0]
    const right = after.find((suggestion) => suggestion.section === fault.section)
    return { result, fault, index, ...(first === undefined ? {} : { first }), ...(right === undefined ? {} : { right }), inTime: right !== undefined && isInTime(right, fault, index) }
  }))
}

/** What was suggested while nothing was wrong. */
export function falseSuggestions(result: EpisodeResult, said: (result: EpisodeResult) => readonly ScoredSuggestion[] = ({ suggestions }) => suggestions): ScoredSuggestion[] {
  return said(result).filter(({ raisedMs }) => result.faults.every(({ onsetMs }) => raisedMs < onsetMs))
}

function isInTime(suggestion: ScoredSuggestion, fault: TrueFault, index: number): boolean {
  return fault.step ? suggestion.hours[index]! <= STEP_HOURS_LIMIT : suggestion.severities[index]! < SEVERITY_LIMIT
}

/** Scores many simulated lines for one practice: the detector's suggestions, or the yardstick's. */
export function scoreDetections(results: readonly EpisodeResult[], said: (result: EpisodeResult) => readonly ScoredSuggestion[] = (result) => result.suggestions): PracticeScore {
  const cases = casesOf(results.filter(({ faults }) => faults.length === 1), said)
  const observable = cases.filter(({ fault }) => fault.observability === 'observable')
  const visible = cases.filter(({ fault }) => fault.observability !== 'invisible')
  const invisible = cases.filter(({ fault }) => fault.observability === 'invisible')
  const firsts = observable.flatMap(({ fault, first }) => (first === undefined ? [] : [{ fault, first }]))
  const inZones = firsts.filter(({ fault, first }) => fault.zone !== undefined && first.section === fault.section)
  const newDays = results.reduce((sum, result) => sum + Math.min(CLEAN_START_DAYS, result.healthyDays), 0)
  const healthyDays = results.reduce((sum, result) => sum + result.healthyDays, 0) - newDays
  const falseOnes = results.flatMap((result) => falseSuggestions(result, said))
  const falseWhileNew = falseOnes.filter(({ day }) => day <= CLEAN_START_DAYS).length
  const share = <T>(items: readonly T[], test: (item: T) => boolean): Figure => shareFigure(items.filter(test).length, items.length)
  const againstOracle = observable.flatMap(({ fault, right, index }) => (fault.oracle?.hours === undefined ? [] : [{ oracleHours: fault.oracle.hours, hours: right?.hours[index] ?? Infinity }]))
  const pairs = results.filter(({ faults }) => faults.length === 2 && faults.every(({ observability }) => observability === 'observable'))
  return {
    faultEpisodes: cases.length,
    healthyDays,
    falsePer100Days: rateFigure(falseOnes.length - falseWhileNew, healthyDays, 100),
    falseWhileNew: rateFigure(falseWhileNew, newDays, 100),
    found: share(observable, ({ inTime }) => inTime),
    foundWithWeak: share(visible, ({ inTime }) => inTime),
    severity: bootstrapFigure(observable.flatMap(({ right, inTime, fault, index }) => (right !== undefined && inTime && !fault.step ? [right.severities[index]!] : [])), median),
    section: share(firsts, ({ fault, first }) => first.section === fault.section),
    zone: share(inZones, ({ fault, first }) => first.zone === fault.zone),
    causeFirst: share(firsts, ({ fault, first }) => names(first.causes[0], fault.cause)),
    causeFirstTwo: share(firsts, ({ fault, first }) => first.causes.slice(0, 2).some((cause) => names(cause, fault.cause))),
    calibrationError: bootstrapFigure(firsts.map(({ fault, first }) => ({ probability: first.causes[0]?.probability ?? 0, right: names(first.causes[0], fault.cause) })), calibrationError),
    invisibleClaimed: results.reduce((sum, result) => sum + said(result).filter((suggestion) => claimsInvisible(suggestion, result)).length, 0),
    suggestions: results.reduce((sum, result) => sum + said(result).length, 0),
    wrongOnInvisible: share(invisible, ({ result, fault }) => said(result).some((suggestion) => suggestion.raisedMs >= fault.onsetMs && !isThere(suggestion, fault))),
    oracleRatio: bootstrapFigure(againstOracle, (items) => median(items.map(({ hours, oracleHours }) => Math.max(hours, 1 / 6) / Math.max(oracleHours, 1 / 6)))),
    oracleWithin: share(againstOracle, ({ hours, oracleHours }) => hours <= Math.max(2 * oracleHours, oracleHours + CONFIRMATION_HOURS)),
    oracleFound: share(observable, ({ fault }) => fault.oracle?.hours !== undefined && (fault.step ? fault.oracle.hours <= STEP_HOURS_LIMIT : (fault.oracle.severity ?? 1) < SEVERITY_LIMIT)),
    bothFound: share(pairs, (result) => casesOf([result], said).every(({ inTime }) => inTime)),
  }
}

function names(cause: ScoredSuggestion['causes'][number] | undefined, truth: string): boolean {
  return cause !== undefined && cause.members.includes(truth)
}

/** A suggestion on the line of an invisible fault is right if it names that fault, or what has come of it. */
function isThere(suggestion: ScoredSuggestion, fault: TrueFault): boolean {
  return names(suggestion.causes[0], fault.cause) || suggestion.leadSeverity >= PRESENT
}

function claimsInvisible(suggestion: ScoredSuggestion, { invisible }: EpisodeResult): boolean {
  return suggestion.causes.some((cause) => cause.probability >= 0.5 && cause.members.every((member) => invisible.includes(member)))
}

/** Expected calibration error over at most ten bins of equal mass. */
export function calibrationError(cases: readonly { readonly probability: number; readonly right: boolean }[]): number {
  if (cases.length === 0) return 0
  const sorted = [...cases].sort((a, b) => a.probability - b.probability)
  const binCount = Math.min(10, Math.max(1, Math.floor(sorted.length / 10)))
  let error = 0
  for (let bin = 0; bin < binCount; bin += 1) {
    const items = sorted.slice(Math.floor((bin * sorted.length) / binCount), Math.floor(((bin + 1) * sorted.length) / binCount))
    const saidShare = items.reduce((sum, item) => sum + item.probability, 0) / items.length
    const right = items.filter((item) => item.right).length / items.length
    error += (Math.abs(saidShare - right) * items.length) / sorted.length
  }
  return error
}
