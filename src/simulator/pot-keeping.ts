import type { FaultEffects } from './fault-effects.js'
import { RandomStream } from './random-stream.js'
import type { FaultEpisode } from './simulation-config.js'
import type { TruthEvent } from './simulation-truth.js'
import type { SiteParameters } from './site-parameters.js'
import { kgPerMm, type SolderPot } from './solder-pot.js'

type PotEvent = { kind: 'top-up'; kg: number } | { kind: 'skim'; mm: number }
export type PotEventOf = Extract<TruthEvent, { kind: PotEvent['kind'] }>

const BARS_MAX = 3
/** After a stop this long the level is looked at before the first boards have gone far, and brought up at one go: a point of every start-up list. [CP] */
const LONG_STOP_MINUTES = 240
const START_CHECK_MINUTES = 15
const START_BARS_MAX = 10
const WIRE_KG_MIN = 0.2
const WIRE_KG_MAX = 2
/** Level that `low-level` means at severity 1, mm under the reference. */
const LOW_LEVEL_MM = 30

/** The people at the pot: look at the level now and then, add bars or let the wire feeder run, skim the dross. */
export class PotKeeping {
  private readonly random: RandomStream
  private checkInMinutes: number
  private skimInMinutes: number
  private barsWaiting = 0
  private lastLevelMm: number | undefined
  private stoppedMinutes = 0
  private startCheck = false

  constructor(
    private readonly site: SiteParameters,
    seed: number,
    private readonly topsUp: boolean,
  ) {
    this.random = new RandomStream(seed, 'pot.keeping')
    this.checkInMinutes = this.random.uniform(20, 90)
    this.skimInMinutes = this.nextSkim()
  }

  /** One minute of the line's life; returns what the people did. */
  minute(now: { readonly pot: SolderPot; readonly producing: boolean; readonly draining: FaultEpisode | undefined; readonly ambientC: number; readonly effects: FaultEffects }): PotEvent[] {
    const { pot, producing, draining } = now
    const done: PotEvent[] = []
    if (!producing) this.stoppedMinutes += 1
    else {
      this.beginDay()
      this.checkInMinutes -= 1
      this.skimInMinutes -= 1
      if (this.skimInMinutes <= 0) {
        this.skimInMinutes = this.nextSkim()
        done.push(...this.skim(pot))
      }
      if (draining !== undefined) this.keepFalling(pot, draining)
      else if (this.topsUp) done.push(...this.look(pot, now.ambientC, now.effects))
    }
    this.lastLevelMm = pot.levelMm
    return done
  }

  private beginDay(): void {
    if (this.stoppedMinutes >= LONG_STOP_MINUTES) {
      this.startCheck = true
      this.checkInMinutes = Math.min(this.checkInMinutes, this.random.uniform(2, START_CHECK_MINUTES))
    }
    this.stoppedMinutes = 0
  }

  /** Fills the pot up to its reference. */
  fill(pot: SolderPot, ambientC: number): PotEvent[] {
    const missingKg = Math.max(0, -pot.levelMm) * kgPerMm(this.site.pot.surfaceAreaM2)
    const kg = Math.max(1, Math.round(missingKg / this.site.pot.barKg)) * this.site.pot.barKg
    pot.addBars(kg, ambientC)
    return [{ kind: 'top-up', kg }]
  }

  skim(pot: SolderPot): PotEvent[] {
    const mm = this.random.uniform(0.2, 0.7)
    pot.skim(mm)
    return [{ kind: 'skim', mm: Number(mm.toFixed(3)) }]
  }

  private nextSkim(): number {
    const { habits } = this.site
    const shiftMinutes = (habits.dayEndMinute - habits.dayStartMinute) / habits.shiftsPerDay
    return habits.skimsPerShift > 0 ? (shiftMinutes / habits.skimsPerShift) * this.random.uniform(0.7, 1.3) : Infinity
  }

  /** Bars go in one after the other, a minute or so apart. */
  private look(pot: SolderPot, ambientC: number, effects: FaultEffects): PotEvent[] {
    const settings = this.site.pot
    if (this.barsWaiting > 0) {
      this.barsWaiting -= 1
      pot.addBars(settings.barKg, ambientC)
      return [{ kind: 'top-up', kg: settings.barKg }]
    }
    if (this.checkInMinutes > 0 || !pot.molten) return []
    const seenMm = pot.sensedLevelMm(effects)
    const atStart = this.startCheck
    this.startCheck = false
    // A wire feeder takes hours for what a weekend has cost: bars go in by hand.
    if (settings.feed === 'wire' && !(atStart && seenMm < settings.topUpAtMm)) {
      this.checkInMinutes = this.random.uniform(5, 20)
      if (seenMm > 0) return []
      const kg = Number(Math.min(WIRE_KG_MAX, Math.max(WIRE_KG_MIN, -seenMm * kgPerMm(settings.surfaceAreaM2))).toFixed(2))
      pot.addBars(kg, ambientC)
      return [{ kind: 'top-up', kg }]
    }
    this.checkInMinutes = this.random.uniform(30, 100)
    if (seenMm > settings.topUpAtMm) return []
    const barMm = settings.barKg / kgPerMm(settings.surfaceAreaM2)
    this.barsWaiting = Math.min(atStart ? START_BARS_MAX : BARS_MAX, Math.max(1, Math.round((1.5 - seenMm) / barMm)))
    return []
  }

  /** Nobody tops up: the level falls as boards and dross take it, or faster where the episode asks for it. */
  private keepFalling(pot: SolderPot, draining: FaultEpisode): void {
    const wantedMm = (LOW_LEVEL_MM * (draining.severityEnd ?? 1)) / Math.max(0.5, draining.growthHours) / 60
    const fellMm = this.lastLevelMm === undefined ? 0 : Math.max(0, this.lastLevelMm - pot.levelMm)
    const floor = -LOW_LEVEL_MM * (draining.severityEnd ?? 1)
    if (pot.levelMm > floor && wantedMm > fellMm) pot.drain((wantedMm - fellMm) * kgPerMm(this.site.pot.surfaceAreaM2))
  }
}
