import { RandomStream } from './random-stream.js'
import type { BenignConfig, SimulationConfig } from './simulation-config.js'
import type { TruthEvent } from './simulation-truth.js'
import type { SiteParameters } from './site-parameters.js'

const DAY_S = 86_400
const DAY_TO_DAY_SD_C = 1

interface Timed {
  readonly atHours: number
  readonly hours?: number
}

type BenignTruth = Omit<Extract<TruthEvent, { kind: 'benign' }>, 'timeMs'>

/** Everything that changes the readings and is no fault: weather, draught, house exhaust, edits of set-points, loading. */
export class BenignConditions {
  ambientC: number
  exhaustFactor = 1
  draughtSd: number
  rateFactor = 1
  heatFactor = 1
  readonly zoneEditC: Float64Array
  conveyorEditMmS = 0
  potEditC = 0
  setpointsChanged = false
  private readonly benign: BenignConfig
  private readonly random: RandomStream
  private dayOffsetC = 0
  private day = -1
  private readonly active = new Set<Timed>()

  constructor(
    config: SimulationConfig,
    private readonly site: SiteParameters,
  ) {
    this.benign = config.benign ?? {}
    this.random = new RandomStream(config.seed, 'ambient')
    this.ambientC = site.ambientC
    this.draughtSd = site.draughtSd
    this.zoneEditC = new Float64Array(site.zones.length)
  }

  /** Once a minute. `note` is told when an episode begins or ends. */
  update(elapsedS: number, timeMs: number, note: (event: BenignTruth) => void): void {
    const hours = elapsedS / 3600
    const day = Math.floor(timeMs / 1000 / DAY_S)
    if (day !== this.day) {
      this.day = day
      this.dayOffsetC = 0.6 * this.dayOffsetC + DAY_TO_DAY_SD_C * 0.8 * this.random.gaussian()
    }
    const dayShare = (timeMs / 1000 / DAY_S) % 1
    // Warmest in mid-afternoon; the offset of the day comes in smoothly enough at night, when the line is off.
    this.ambientC = this.site.ambientC + this.dayOffsetC + this.site.ambientDailySwingC * Math.sin(2 * Math.PI * (dayShare - 0.375))
    this.exhaustFactor = 1
    this.draughtSd = this.site.draughtSd
    this.rateFactor = 1
    this.heatFactor = 1
    this.each(this.benign.ambients, hours, 'ambient-or-exhaust', note, (entry) => (this.ambientC += entry.deltaC))
    this.each(this.benign.exhausts, hours, 'ambient-or-exhaust', note, (entry) => (this.exhaustFactor *= entry.factor))
    this.each(this.benign.draughts, hours, 'ambient-or-exhaust', note, (entry) => (this.draughtSd = Math.max(this.draughtSd, entry.sd)))
    this.each(this.benign.loads, hours, 'board-load', note, (entry) => {
      this.rateFactor *= entry.rateFactor
      this.heatFactor *= entry.heatFactor ?? 1
    })
    this.edits(hours, note)
  }

  private edits(hours: number, note: (event: BenignTruth) => void): void {
    const zones = Array.from(this.zoneEditC)
    const before = [...zones, this.conveyorEditMmS, this.potEditC].join()
    this.zoneEditC.fill(0)
    this.conveyorEditMmS = 0
    this.potEditC = 0
    this.each(this.benign.setpointEdits, hours, 'setpoint-edit', note, ({ target, delta }) => {
      const zone = /^zone-(\d+)$/.exec(target)
      if (zone !== null) {
        const index = Number(zone[1]) - 1
        if (index < 0 || index >= this.zoneEditC.length) throw new Error(`benign.setpointEdits names "${target}": the line has zones 1 to ${this.zoneEditC.length}`)
        this.zoneEditC[index] = this.zoneEditC[index]! + delta
      } else if (target === 'conveyor') this.conveyorEditMmS += delta
      else if (target === 'pot') this.potEditC += delta
      else throw new Error(`benign.setpointEdits names "${target}": expected "zone-<n>", "conveyor" or "pot"`)
    })
    if (before !== [...this.zoneEditC, this.conveyorEditMmS, this.potEditC].join()) this.setpointsChanged = true
  }

  private each<T extends Timed>(entries: readonly T[] | undefined, hours: number, cause: BenignTruth['cause'], note: (event: BenignTruth) => void, apply: (entry: T) => void): void {
    if (entries === undefined) return
    for (const entry of entries) {
      const on = hours >= entry.atHours && (entry.hours === undefined || hours < entry.atHours + entry.hours)
      if (on !== this.active.has(entry)) {
        if (on) this.active.add(entry)
        else this.active.delete(entry)
        const { atHours: _at, hours: _hours, ...detail } = entry
        note({ kind: 'benign', cause, detail: JSON.stringify(detail), begins: on })
      }
      if (on) apply(entry)
    }
  }
}
