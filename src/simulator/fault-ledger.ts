import { Deposit, DEPOSIT_PLACES, EPISODE_END_MASS_RATIO, NOZZLE_DRY_OUT_G, severityOfDeposit } from './deposits.js'
import type { RandomStream } from './random-stream.js'
import type { FaultEpisode, MaintenanceWork } from './simulation-config.js'
import { REPAIR_ONLY_FAULTS, SIMULATED_FAULTS, type GrowthShape, type SimulatedFault } from './simulation-causes.js'

/** Mass of one drip and its targets, as multiples of what the place needs for severity 0.5 [ASM]. */
const DRIPS_PER_HOUR_MAX = 6
/** Overspray on the chain when the stroke is too wide: the usual 0.72 g/h triples; in units of the chain's m50 per production hour at severity 1. */
const OVERSPRAY_RATIO_PER_HOUR = (2 * 0.72) / 100

interface Course {
  readonly episode: FaultEpisode
  readonly shape: GrowthShape
  readonly deposit: Deposit
  /** Production hours since the onset. */
  hours: number
  started: boolean
  ended: boolean
}

/** One cause at one place. */
interface Slot {
  readonly cause: SimulatedFault
  /** 0: not in a zone. */
  readonly zone: number
  readonly natural: Deposit
  readonly gramsPerBoard: number
  readonly m50G: number
  readonly courses: Course[]
  /** Residue from other faults (drips, overspray), in multiples of m50. */
  readonly secondary: Deposit
  severity: number
}

/** Keeps every cause's severity, 0-1: grows it with the hours of production and takes it back with the work done. */
export class FaultLedger {
  private readonly slots: Slot[] = []
  private readonly bySlot = new Map<string, Slot>()
  /** Lubricant film on the chain, 1 fresh .. 0 gone. */
  film = 1
  /** Production hours of sticky grease in the heat. */
  greaseHotHours = 0
  private dripWaitHours: number

  constructor(
    zoneCount: number,
    faults: readonly FaultEpisode[],
    private readonly naturalRate: number,
    private readonly lubricantLifeHours: number,
    private readonly random: RandomStream,
  ) {
    for (const cause of Object.keys(SIMULATED_FAULTS) as SimulatedFault[]) {
      const { zoned } = SIMULATED_FAULTS[cause]
      if (!zoned || cause === 'ageing-element') this.addSlot(cause, 0)
      if (zoned) for (let zone = 1; zone <= zoneCount; zone += 1) this.addSlot(cause, zone)
    }
    for (const episode of faults) {
      const slot = this.slot(episode.cause as SimulatedFault, this.zoneOf(episode))
      const shape = episode.shape ?? (episode.variant === 'bent' || episode.variant === 'leg-lost' ? 'step' : SIMULATED_FAULTS[slot.cause].growth)
      slot.courses.push({ episode, shape, deposit: Deposit.of(slot.cause), hours: 0, started: false, ended: false })
    }
    this.dripWaitHours = random.waitingTime(1)
  }

  /** Severity of a cause, 0-1; zone 0 where the cause sits in none. */
  severityOf(cause: SimulatedFault, zone = 0): number {
    return this.slot(cause, zone).severity
  }

  /** Form of a fault while an episode of it is under way. */
  variantOf(cause: SimulatedFault, zone = 0): string | undefined {
    return this.slot(cause, zone).courses.find((course) => course.started && course.episode.variant !== undefined)?.episode.variant
  }

  /** Visits every cause that has a severity above 0. */
  forEachActive(visit: (cause: SimulatedFault, zone: number, severity: number) => void): void {
    for (const slot of this.slots) if (slot.severity > 0) visit(slot.cause, slot.zone, slot.severity)
  }

  /** The episode that keeps people from topping up the pot, if one has begun. */
  drainingEpisode(): FaultEpisode | undefined {
    return this.slot('low-level', 0).courses.find((course) => course.started && !course.ended)?.episode
  }

  /** The level is a mass balance, so its severity is read from the pot, not grown here. */
  setLevelSeverity(severity: number): void {
    this.slot('low-level', 0).severity = severity
  }

  /**
   * Lets all causes grow.
   *
   * @param step.hours length of the step
   * @param step.elapsedHours hours since the start of the simulation
   * @param step.producing boards are being soldered
   * @param step.hot the zones are hot
   * @param step.boards boards soldered in the step
   */
  advance(step: { readonly hours: number; readonly elapsedHours: number; readonly producing: boolean; readonly hot: boolean; readonly boards: number }): void {
    const hotHours = step.hot ? step.hours : 0
    for (const slot of this.slots) {
      if (this.naturalRate > 0 && slot.gramsPerBoard > 0) slot.natural.add(slot.gramsPerBoard * step.boards)
      slot.natural.bake(hotHours)
      slot.secondary.bake(hotHours)
      for (const course of slot.courses) this.advanceCourse(course, step, hotHours)
    }
    if (this.naturalRate > 0 && step.producing) this.film = Math.max(0, this.film - step.hours / this.lubricantLifeHours)
    if (step.producing) this.spreadSecondaryFouling(step.hours)
    if (hotHours > 0 && this.slot('sticky-grease', 0).severity > 0) this.greaseHotHours += hotHours
    this.refresh()
  }

  /** Dry-out of the nozzle in a stop over 30 min; only where ordinary fouling is simulated. */
  dryOutNozzle(): void {
    if (this.naturalRate > 0) this.slot('clogged-nozzle', 0).natural.add(NOZZLE_DRY_OUT_G * this.naturalRate)
  }

  /** Takes back what a piece of work takes back; the wrong work leaves everything as it was. */
  perform(work: MaintenanceWork): void {
    const causes = new Set<string>(work.causes)
    const washed = work.work === 'full-clean' && (causes.has('dirty-chain') || causes.has('dry-chain') || causes.has('sticky-grease'))
    for (const slot of this.slots) {
      if (!causes.has(slot.cause) || (work.zone !== undefined && slot.zone !== 0 && slot.zone !== work.zone)) continue
      if (!this.helps(slot.cause, work)) continue
      slot.natural.clean(work.work)
      slot.secondary.clean(work.work)
      for (const course of slot.courses) this.endCourse(course, work)
    }
    if (washed) this.film = 0
    if (work.work === 'lubricate' || (washed && work.lubricated !== false)) this.lubricate()
    this.refresh()
  }

  private helps(cause: SimulatedFault, work: MaintenanceWork): boolean {
    if (cause === 'dry-chain') return false // mended by lubricating alone
    if (cause === 'low-level') return work.work === 'top-up' || work.work === 'repair'
    if (REPAIR_ONLY_FAULTS.has(cause)) return work.work === 'repair'
    return work.work !== 'lubricate' && work.work !== 'top-up'
  }

  private lubricate(): void {
    this.film = 1
    for (const course of this.slot('dry-chain', 0).courses) if (course.started) course.ended = true
  }

  /** After the work the deposit stays at what is left: what made it grow so fast is taken as found. */
  private endCourse(course: Course, work: MaintenanceWork): void {
    if (!course.started) return
    course.ended = true
    course.deposit.clean(work.work)
    if (course.shape !== 'deposit') {
      const left = work.work === 'repair' || work.work === 'full-clean' || work.work === 'top-up' ? 0 : 0.5
      course.hours *= left
    }
  }

  private advanceCourse(course: Course, step: { hours: number; elapsedHours: number; producing: boolean }, hotHours: number): void {
    if (course.ended) return
    if (!course.started && step.elapsedHours >= course.episode.onsetHours) course.started = true
    if (!course.started || !step.producing) return
    const { growthHours } = course.episode
    course.hours += step.hours
    if (course.shape === 'deposit') {
      const room = EPISODE_END_MASS_RATIO - course.deposit.mass
      course.deposit.add(growthHours > 0 ? Math.min(room, (EPISODE_END_MASS_RATIO * step.hours) / growthHours) : Math.max(0, room))
      course.deposit.bake(hotHours)
    }
  }

  private courseSeverity(course: Course): number {
    if (!course.started) return 0
    const end = course.episode.severityEnd ?? 1
    const share = course.episode.growthHours > 0 ? Math.min(1, course.hours / course.episode.growthHours) : 1
    switch (course.shape) {
      case 'deposit':
        // Adding and baking can leave the mass a rounding above its end.
        return Math.min(end, (end * severityOfDeposit(course.deposit.mass)) / severityOfDeposit(EPISODE_END_MASS_RATIO))
      case 'wear':
        return course.ended ? 0 : end * share * share
      case 'linear':
        return course.ended ? 0 : end * share
      case 'step':
        return course.ended ? 0 : end
    }
  }

  /** Drips of a saturated filter and overspray of a wide stroke: how one section fouls another. */
  private spreadSecondaryFouling(hours: number): void {
    const filter = this.slot('saturated-filter', 0).severity
    if (filter > 0.5) {
      this.dripWaitHours -= hours * DRIPS_PER_HOUR_MAX * (2 * filter - 1)
      while (this.dripWaitHours <= 0) {
        this.dripWaitHours += this.random.waitingTime(1)
        this.drip(this.random.uniform(0.1, 0.5))
      }
    }
    const wide = this.slot('stroke-too-wide', 0).severity
    if (wide > 0) this.slot('dirty-chain', 0).secondary.add(OVERSPRAY_RATIO_PER_HOUR * wide * hours)
  }

  private drip(grams: number): void {
    const target = this.random.next()
    const emitters = this.slots.filter((slot) => slot.cause === 'coated-emitter')
    if (target < 0.0005) {
      const sensors = this.slots.filter((slot) => slot.cause === 'coated-thermocouple')
      const sensor = sensors[this.random.integer(0, sensors.length - 1)]
      sensor?.secondary.add(0.02 / 0.04) // what sticks of a drip is 0.02 g
    } else if (target < 0.1) {
      const emitter = emitters[this.random.integer(0, emitters.length - 1)]
      if (emitter !== undefined) emitter.secondary.add(grams / 35)
    } else if (target < 0.25) {
      this.slot('dirty-chain', 0).secondary.add(grams / 67)
    }
  }

  private refresh(): void {
    for (const slot of this.slots) {
      if (slot.cause === 'low-level') continue
      let clean = 1 - severityOfDeposit(slot.natural.mass / slot.m50G)
      clean *= 1 - severityOfDeposit(slot.secondary.mass)
      for (const course of slot.courses) clean *= 1 - this.courseSeverity(course)
      if (slot.cause === 'dry-chain') clean = Math.min(clean, this.film)
      slot.severity = 1 - clean
    }
  }

  private addSlot(cause: SimulatedFault, zone: number): void {
    const place = DEPOSIT_PLACES.find((entry) => entry.cause === cause)
    const slot: Slot = {
      cause,
      zone,
      natural: Deposit.of(cause),
      // Rates differ between sites by a factor of 2 and between cycles by 1.3 [ASM]; the site's own factor is in naturalRate.
      gramsPerBoard: place === undefined ? 0 : (place.mgPerBoard / 1000) * this.naturalRate * this.random.logNormal(1.3),
      m50G: place?.m50G ?? 1,
      courses: [],
      secondary: Deposit.of(cause),
      severity: 0,
    }
    this.slots.push(slot)
    this.bySlot.set(`${cause} ${zone}`, slot)
  }

  private zoneOf(episode: FaultEpisode): number {
    const { zoned } = SIMULATED_FAULTS[episode.cause as SimulatedFault]
    if (!zoned) return 0
    if (episode.zone === undefined) return episode.cause === 'ageing-element' ? 0 : 1
    return episode.zone
  }

  private slot(cause: SimulatedFault, zone: number): Slot {
    const slot = this.bySlot.get(`${cause} ${zone}`)
    if (slot === undefined) throw new Error(`no ${cause} in zone ${zone}: expected a zone of this line, and only for causes that sit in one`)
    return slot
  }
}
