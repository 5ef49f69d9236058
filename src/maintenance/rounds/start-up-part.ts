import type { LineDefinition } from '../../line/line-definition.js'
import type { Reading } from '../../line/reading.js'
import type { LineStateChange } from '../../line/state/line-state-change.js'
import type { ChartedValue, MaintenanceAsks, MaintenanceContext, MaintenancePart } from '../maintenance-part.js'
import type { StartUpFact, StartUpPart } from './start-up-fact.js'

/** Starts an expectation rests on at least, and those kept. */
const STARTS_MIN = 3
const STARTS_KEPT = 10
/** A usual start lies within this share of the expectation, or three robust deviations, or this many seconds. [ASM] */
const USUAL_SHARE = 0.1
const USUAL_S = 15
/** A heat-up time that comes this long after the start still belongs to it. */
const START_REACH_MS = 3 * 3_600_000
/** Ready: within 2 °C for ten minutes [CP]. */
const READY_C = 2
const READY_MS = 10 * 60_000
/** A pot so close to its temperature was kept hot: its time says nothing. [ASM] */
const KEPT_HOT_C = 20
/** Fully molten above: tin-silver-copper 217 °C, tin-lead 183 °C [MEM]. */
const LIQUIDUS_C = 217
const LIQUIDUS_TIN_LEAD_C = 183
const PUMP_RUNS_PERCENT = 5

/** Plain JSON. */
interface StartUpState {
  /** Earlier times: s for a zone, s per °C of rise for the pot. */
  history: Record<string, number[]>
  now: { sinceMs: number; parts: StartUpPart[]; readyMs: number; pumpBeforeMeltMs: number } | null
  pot: { temperatureC: number; setpointC: number; usualC: number; fromC: number; insideSinceMs: number; isOpen: boolean }
}

function createState(): StartUpState {
  return { history: {}, now: null, pot: { temperatureC: 0, setpointC: 0, usualC: 0, fromC: 0, insideSinceMs: 0, isOpen: false } }
}

/** Starts of a line: time to ready of each zone and of the pot against the line's own earlier starts. */
export function createStartUpPart(definition: LineDefinition, snapshot: unknown): MaintenancePart {
  return new StartUpWatch(definition, structuredClone((snapshot as StartUpState | undefined) ?? createState()))
}

class StartUpWatch implements MaintenancePart {
  private readonly liquidusC: number

  constructor(
    { machine }: LineDefinition,
    private readonly known: StartUpState,
  ) {
    this.liquidusC = machine.pot.alloy !== undefined && /pb|lead(?!.?free)|sn ?6[0-3]/i.test(machine.pot.alloy) ? LIQUIDUS_TIN_LEAD_C : LIQUIDUS_C
  }

  snapshot(): unknown {
    return structuredClone(this.known)
  }

  reading({ channel, value, timeMs }: Reading, context: MaintenanceContext, asks: MaintenanceAsks): void {
    if (typeof value !== 'number' || !channel.startsWith('pot.')) return
    const { pot, now } = this.known
    if (channel === 'pot.setpoint') pot.setpointC = value
    else if (channel === 'pot.pump-speed' && now !== null && now.readyMs === 0 && now.pumpBeforeMeltMs === 0 && value > PUMP_RUNS_PERCENT && pot.temperatureC > 0 && pot.temperatureC < this.liquidusC) {
      now.pumpBeforeMeltMs = timeMs
      this.say(timeMs, asks)
    } else if (channel === 'pot.temperature') {
      pot.temperatureC = value
      if (context.state === 'production') pot.usualC = pot.usualC === 0 ? value : pot.usualC + (value - pot.usualC) / 200
      if (pot.isOpen) this.watchPot(timeMs, asks)
    }
  }

  state({ state, previous, timeMs }: LineStateChange, _context: MaintenanceContext, asks: MaintenanceAsks): void {
    const { known } = this
    if (state === 'warm-up' && previous !== 'warm-up') {
      known.now = { sinceMs: timeMs, parts: [], readyMs: 0, pumpBeforeMeltMs: 0 }
      known.pot.fromC = known.pot.temperatureC
      known.pot.insideSinceMs = 0
      const goalC = this.potGoalC()
      known.pot.isOpen = goalC > 0 && known.pot.temperatureC > 0 && goalC - known.pot.temperatureC >= KEPT_HOT_C
      this.say(timeMs, asks)
    } else if (previous === 'warm-up' && state !== 'off' && known.now !== null && known.now.readyMs === 0) {
      known.now.readyMs = timeMs
      this.say(timeMs, asks)
    } else if (state === 'off') known.pot.isOpen = false
  }

  value({ value }: ChartedValue, _context: MaintenanceContext, asks: MaintenanceAsks): void {
    const zone = /^preheat\.zone-(\d+)\.warm-up-time$/.exec(value.feature)?.[1]
    const { now } = this.known
    if (zone === undefined || now === null || value.timeMs < now.sinceMs || value.timeMs > now.sinceMs + START_REACH_MS) return
    this.add(`zone-${zone}`, value.value, value.value, 1, value.timeMs, asks)
  }

  private potGoalC(): number {
    const { setpointC, usualC } = this.known.pot
    return setpointC > 0 ? setpointC : usualC
  }

  private watchPot(timeMs: number, asks: MaintenanceAsks): void {
    const { pot, now } = this.known
    if (Math.abs(pot.temperatureC - this.potGoalC()) > READY_C) {
      pot.insideSinceMs = 0
      return
    }
    if (pot.insideSinceMs === 0) pot.insideSinceMs = timeMs
    if (timeMs - pot.insideSinceMs < READY_MS || now === null) return
    pot.isOpen = false
    const riseC = Math.max(1, this.potGoalC() - pot.fromC)
    const actualS = (pot.insideSinceMs - now.sinceMs) / 1000
    this.add('pot', actualS, actualS / riseC, riseC, timeMs, asks)
  }

  /** @param kept what the history keeps of it; `scale` brings that back to seconds of this start */
  private add(part: string, actualS: number, kept: number, scale: number, timeMs: number, asks: MaintenanceAsks): void {
    const { now, history } = this.known
    if (now === null || now.parts.some((known) => known.part === part)) return
    const earlier = (history[part] ??= [])
    now.parts.push({ part, actualS: Math.round(actualS), starts: earlier.length, ...expectation(earlier, scale) })
    earlier.push(kept)
    if (earlier.length > STARTS_KEPT) earlier.shift()
    this.say(timeMs, asks)
  }

  private say(timeMs: number, asks: MaintenanceAsks): void {
    const { now } = this.known
    if (now === null) return
    const fact: StartUpFact = {
      type: 'start-up', id: `start-up-${now.sinceMs}`, timeMs, sinceMs: now.sinceMs, parts: now.parts.map((part) => ({ ...part })),
      ...(now.readyMs > 0 ? { readyMs: now.readyMs } : {}), ...(now.pumpBeforeMeltMs > 0 ? { pumpBeforeMeltMs: now.pumpBeforeMeltMs } : {}),
    }
    asks.emit(fact)
  }
}

function expectation(earlier: readonly number[], scale: number): Pick<StartUpPart, 'expectedS' | 'lowerS' | 'upperS'> {
  if (earlier.length < STARTS_MIN) return {}
  const middle = median(earlier)
  const deviation = 1.4826 * median(earlier.map((value) => Math.abs(value - middle)))
  const reach = Math.max(3 * deviation * scale, USUAL_SHARE * middle * scale, USUAL_S)
  const expected = middle * scale
  return { expectedS: Math.round(expected), lowerS: Math.max(0, Math.round(expected - reach)), upperS: Math.round(expected + reach) }
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b)
  const middle = Math.floor(sorted.length / 2)
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2
}
