import { BenignConditions } from './benign-conditions.js'
import { BoardLoading } from './board-loading.js'
import { BoardResults } from './board-results.js'
import { ConveyorMotion } from './conveyor-motion.js'
import { neutralEffects, updateEffects, type FaultEffects } from './fault-effects.js'
import { FaultLedger } from './fault-ledger.js'
import { Fluxer } from './fluxer.js'
import { LineSchedule } from './line-schedule.js'
import { PotKeeping } from './pot-keeping.js'
import { PreheatTunnel, type TunnelSurroundings } from './preheat-tunnel.js'
import { RandomStream } from './random-stream.js'
import type { MaintenanceWork, SimulationConfig } from './simulation-config.js'
import type { SimulationTruth, TrueSeverity, TruthEvent, TruthMoment } from './simulation-truth.js'
import type { RecipeParameters, SiteParameters } from './site-parameters.js'
import { SolderPot } from './solder-pot.js'

const MINUTE_S = 60
const TRUTH_EVERY_S = 600
const READY_WITHIN_C = 2
const NOZZLE_DRIES_AFTER_S = 1800

/** One line with all its parts, advanced second by second. It knows the truth; what is published is another matter. */
export class SimulatedLine {
  elapsedS = 0
  timeMs: number
  readonly tunnel: PreheatTunnel
  readonly conveyor: ConveyorMotion
  readonly pot: SolderPot
  readonly fluxer: Fluxer
  readonly loading: BoardLoading
  readonly schedule: LineSchedule
  readonly ledger: FaultLedger
  readonly effects: FaultEffects
  readonly benign: BenignConditions
  readonly results: BoardResults
  /** Set-point in force; the conveyor's is 0 while it stands. */
  conveyorSetpointMmS = 0
  private readonly keeping: PotKeeping
  private readonly surroundings: TunnelSurroundings
  private readonly stepsPerSecond: number
  private readonly moments: TruthMoment[] = []
  private readonly events: TruthEvent[] = []
  private lastState = ''
  private boardsThisMinute = 0
  private readonly blowers: ('fixed-speed' | 'constant-flow')[]
  private appliedRecipe = -1

  constructor(
    readonly config: SimulationConfig,
    readonly site: SiteParameters,
  ) {
    const { seed } = config
    const stepS = config.thermalStepS ?? 0.5
    this.stepsPerSecond = Math.round(1 / stepS)
    if (Math.abs(this.stepsPerSecond * stepS - 1) > 1e-9) throw new Error(`thermalStepS is ${stepS}: expected a whole part of a second, e.g. 0.5`)
    this.timeMs = config.startMs
    this.blowers = site.zones.map((zone) => zone.blower)
    this.benign = new BenignConditions(config, site)
    this.tunnel = new PreheatTunnel(site.zones, { seed, stepS, ambientC: site.ambientC, draughtSd: site.draughtSd, draughtCorrelationS: site.draughtCorrelationS })
    this.conveyor = new ConveyorMotion(site.conveyor, seed, site.ambientC)
    const { pot, habits } = site
    const nightC = pot.night === 'hold' ? pot.nightC : site.ambientC
    this.pot = new SolderPot(pot, { seed, setpointC: this.recipe(0).potC, startC: config.alwaysProducing === true ? this.recipe(0).potC : nightC, startLevelMm: new RandomStream(seed, 'pot.start').uniform(-1.5, 2) })
    this.fluxer = new Fluxer(site.fluxer, seed)
    this.loading = new BoardLoading(habits, seed)
    const naturalRate = (config.naturalDepositRate ?? 0) * (config.site === 'drawn' ? new RandomStream(seed, 'site.deposits').logNormal(2) : 1)
    this.ledger = new FaultLedger(site.zones.length, config.faults, naturalRate, site.conveyor.lubricantLifeHours, new RandomStream(seed, 'faults'))
    this.effects = neutralEffects(site.zones.length)
    this.schedule = new LineSchedule(habits, {
      seed,
      startMs: config.startMs,
      recipeCount: site.recipes.length,
      benign: config.benign ?? {},
      cleanings: config.cleanings ?? [],
      alwaysProducing: config.alwaysProducing ?? false,
      conveyorRunsWhileIdle: site.conveyor.runsWhileIdle,
      potLeadMinutes: pot.night === 'off' ? 170 : habits.warmUpLeadMinutes,
    })
    this.keeping = new PotKeeping(site, seed, config.benign?.topUps !== false)
    this.results = new BoardResults(seed)
    this.surroundings = { ambientC: site.ambientC, speedMmS: 0, exhaust: 1, powered: false, flowShare: 1, turbulenceFactor: 1 }
    this.minute()
    this.tunnel.applyEffects(this.effects)
    if (config.alwaysProducing === true) this.startHot()
  }

  /** Recipe by index. */
  recipe(index: number): RecipeParameters {
    const recipe = this.site.recipes[index]
    if (recipe === undefined) throw new Error('the site has no recipe: expected at least one')
    return recipe
  }

  get activeRecipe(): RecipeParameters {
    return this.recipe(this.schedule.appliedRecipeIndex)
  }

  /** Advances one second. */
  step(): void {
    this.elapsedS += 1
    this.timeMs += 1000
    const { schedule, tunnel, pot, surroundings, effects } = this
    schedule.step(this.elapsedS, this)
    for (const work of schedule.due) this.perform(work)
    if (schedule.state !== this.lastState) this.noteState()
    if (schedule.appliedRecipeIndex !== this.appliedRecipe || this.benign.setpointsChanged) this.applySetpoints()
    this.conveyorSetpointMmS = schedule.conveyorOn ? this.activeRecipe.speedMmS + this.benign.conveyorEditMmS : 0
    if (schedule.loading && this.loading.step(this.activeRecipe.boardIntervalS / this.benign.rateFactor, 3 * effects.chain)) this.load()
    surroundings.powered = schedule.heating
    surroundings.speedMmS = this.conveyor.chainSpeedMmS
    surroundings.flowShare = schedule.state === 'standby' ? 0.7 : 1
    surroundings.turbulenceFactor = schedule.state === 'run-in' ? 1.15 : 1
    for (let part = 0; part < this.stepsPerSecond; part += 1) {
      tunnel.step(surroundings, effects)
      for (const topsideC of tunnel.exitedC) this.solder(topsideC)
    }
    this.conveyor.step(this.conveyorSetpointMmS, { ambientC: surroundings.ambientC, hotC: this.meanAirC(), wet: schedule.state === 'run-in' ? 1 : 0 }, effects)
    pot.pumpOn = schedule.pumpOn
    pot.step(1, { ambientC: surroundings.ambientC, powered: schedule.potOn || this.site.pot.night === 'hold', pumpNominal: this.activeRecipe.pumpShare }, effects)
    this.fluxer.step(schedule.state !== 'off', effects)
    if (this.elapsedS % MINUTE_S === 0) this.minute()
    if (this.elapsedS % TRUTH_EVERY_S === 0) this.moments.push(this.moment())
  }

  get zonesReady(): boolean {
    const { tunnel } = this
    for (let index = 0; index < tunnel.zoneCount; index += 1) {
      // An aged element may never reach its set-point; people start all the same once it has stopped rising.
      if (Math.abs(tunnel.sensedC[index]! + this.site.zones[index]!.sensorBiasC - tunnel.setpointC[index]!) > READY_WITHIN_C && !this.hasStalled(index)) return false
    }
    return true
  }

  get potReady(): boolean {
    return Math.abs(this.pot.sensedC(this.effects) - this.pot.setpointC) <= READY_WITHIN_C || (this.pot.molten && this.pot.duty >= 1 && this.elapsedS - this.schedule.stateSinceS > 3600)
  }

  get tunnelEmpty(): boolean {
    return this.tunnel.boardCount === 0
  }

  truth(): SimulationTruth {
    const { config } = this
    return {
      seed: config.seed,
      startMs: config.startMs,
      endMs: this.timeMs,
      faults: config.faults.map((fault) => ({ ...fault, onsetMs: config.startMs + Math.round(fault.onsetHours * 3_600_000) })),
      traps: [...(config.traps ?? [])],
      moments: [...this.moments],
      events: [...this.events],
    }
  }

  private hasStalled(index: number): boolean {
    return this.tunnel.duty[index]! >= 1 && this.elapsedS - this.schedule.stateSinceS > 3600
  }

  private meanAirC(): number {
    let sum = 0
    for (let index = 0; index < this.tunnel.zoneCount; index += 1) sum += this.tunnel.airC[index]!
    return sum / this.tunnel.zoneCount
  }

  /** Flux solids per board as a share of the reference line's: residue grows with the flux sprayed, not with the calendar. */
  private fluxShare(): number {
    return (this.activeRecipe.fluxPerBoardG * this.site.fluxer.solidsShare) / (4.17 * 0.03)
  }

  private load(): void {
    const recipe = this.activeRecipe
    const loaded = this.tunnel.enter({
      heatCapacityJPerK: recipe.boardHeatCapacityJPerK * this.benign.heatFactor,
      tauS: recipe.boardTauS,
      startC: this.surroundings.ambientC,
      aheadMm: -this.site.fluxerGapMm,
    })
    if (loaded) this.fluxer.startBoard({ lengthMm: recipe.boardLengthMm, speedMmS: recipe.speedMmS, fluxG: recipe.fluxPerBoardG })
  }

  private solder(topsideC: number): void {
    this.boardsThisMinute += 1
    this.pot.boardSoldered(this.benign.heatFactor)
    this.results.add(this, topsideC)
  }

  /** Slow things: weather, habits, growth of the faults, what the faults do. */
  private minute(): void {
    const { schedule, benign, surroundings, pot } = this
    benign.update(this.elapsedS, this.timeMs, (event) => this.events.push({ ...event, timeMs: this.timeMs }))
    surroundings.ambientC = benign.ambientC
    surroundings.exhaust = benign.exhaustFactor
    this.tunnel.draughtSd = benign.draughtSd
    pot.setpointC = schedule.potOn ? this.activeRecipe.potC + benign.potEditC : this.site.pot.nightC
    const producing = schedule.producing
    if (this.elapsedS > 0) {
      this.ledger.advance({ hours: 1 / 60, elapsedHours: this.elapsedS / 3600, producing, hot: schedule.heating, boards: this.boardsThisMinute * this.fluxShare() })
      const drained = this.ledger.drainingEpisode()
      for (const event of this.keeping.minute({ pot, producing, draining: drained, ambientC: benign.ambientC, effects: this.effects })) this.events.push({ ...event, timeMs: this.timeMs })
      this.ledger.setLevelSeverity(drained !== undefined || pot.levelMm < -6 ? Math.min(1, Math.max(0, -pot.levelMm / 30)) : 0)
      if (!producing && this.elapsedS - schedule.stateSinceS >= NOZZLE_DRIES_AFTER_S && this.elapsedS - schedule.stateSinceS < NOZZLE_DRIES_AFTER_S + MINUTE_S) this.ledger.dryOutNozzle()
    }
    this.boardsThisMinute = 0
    updateEffects(this.effects, this.ledger, this.blowers)
    this.tunnel.applyEffects(this.effects)
  }

  private applySetpoints(): void {
    const { tunnel, benign } = this
    this.appliedRecipe = this.schedule.appliedRecipeIndex
    benign.setpointsChanged = false
    const recipe = this.activeRecipe
    for (let index = 0; index < tunnel.zoneCount; index += 1) {
      const airC = recipe.zoneTemperaturesC[index] ?? recipe.zoneTemperaturesC[recipe.zoneTemperaturesC.length - 1]!
      tunnel.setpointC[index] = tunnel.setpointFor(index, airC, this.site.ambientC, 300) + benign.zoneEditC[index]!
    }
  }

  private perform(work: MaintenanceWork): void {
    this.ledger.perform(work)
    if (work.work === 'top-up' || (work.work === 'repair' && work.causes.includes('low-level'))) {
      for (const event of this.keeping.fill(this.pot, this.surroundings.ambientC)) this.events.push({ ...event, timeMs: this.timeMs })
    }
    if (work.work === 'skim') for (const event of this.keeping.skim(this.pot)) this.events.push({ ...event, timeMs: this.timeMs })
    this.events.push({ timeMs: this.timeMs, kind: 'work', work: work.work, causes: work.causes, ...(work.zone === undefined ? {} : { zone: work.zone }), lubricated: work.lubricated !== false })
    updateEffects(this.effects, this.ledger, this.blowers)
    this.tunnel.applyEffects(this.effects)
  }

  private noteState(): void {
    this.lastState = this.schedule.state
    this.events.push({ timeMs: this.timeMs, kind: 'state', state: this.schedule.state, recipe: this.activeRecipe.id })
    if (this.schedule.state === 'maintenance' || this.schedule.state === 'off') this.tunnel.clearBoards()
  }

  private moment(): TruthMoment {
    const severities: TrueSeverity[] = []
    this.ledger.forEachActive((cause, zone, severity) => severities.push({ cause, ...(zone > 0 ? { zone } : {}), severity: Number(severity.toFixed(4)) }))
    return {
      timeMs: this.timeMs,
      state: this.schedule.state,
      recipe: this.activeRecipe.id,
      severities,
      zoneAirC: Array.from(this.tunnel.airC, (airC) => Number(airC.toFixed(2))),
      potC: Number(this.pot.temperatureC.toFixed(2)),
      levelMm: Number(this.pot.levelMm.toFixed(2)),
      film: Number(this.ledger.film.toFixed(4)),
      boards: this.loading.count,
      jumps: this.conveyor.jumpCount,
    }
  }

  /** Production temperatures from the first moment, for studies of the physics. */
  private startHot(): void {
    this.applySetpoints()
    const recipe = this.activeRecipe
    for (let index = 0; index < this.tunnel.zoneCount; index += 1) {
      const airC = recipe.zoneTemperaturesC[index] ?? 150
      this.tunnel.airC[index] = airC
      this.tunnel.sensedC[index] = this.tunnel.setpointC[index]!
      this.tunnel.heaterC[index] = airC + 40
    }
  }
}
