import { RandomStream } from './random-stream.js'
import type { BenignConfig, MaintenanceWork } from './simulation-config.js'
import type { HabitParameters } from './site-parameters.js'

export type SimulatedState = 'off' | 'warm-up' | 'standby' | 'production' | 'idle' | 'changeover' | 'maintenance' | 'run-in'

/** What the machine tells the people who run it. */
export interface MachineCondition {
  /** All zones within 2 °C of their set-points. */
  readonly zonesReady: boolean
  readonly potReady: boolean
  readonly tunnelEmpty: boolean
}

interface DayEvent {
  readonly atS: number
  readonly kind: 'changeover' | 'stop' | 'break'
  readonly durationS: number
}

const READY_FOR_S = 600
const CHANGEOVER_MAX_S = 2400
const CLEARING_MAX_S = 240
const PUMP_OFF_AFTER_S = 300
const DAY_S = 86_400
/** Work that needs cold zones. */
const COLD_WORK = new Set(['clogged-blower', 'coated-emitter', 'blocked-vents', 'coated-thermocouple', 'ageing-element'])

/** The working day of the line and its states: off, warm-up, standby, production, idle, changeover, maintenance, run-in. */
export class LineSchedule {
  state: SimulatedState
  stateSinceS = 0
  recipeIndex = 0
  /** Recipe whose set-points are to be in force. */
  appliedRecipeIndex = 0
  conveyorOn = false
  heating = false
  pumpOn = false
  /** The timer wants the pot at its working temperature. */
  potOn = false
  loading = false
  private readySinceS = -1
  private endS = 0
  private clearing = false
  private runInLeftS = 0
  private coldWork = false
  private readonly random: RandomStream
  private readonly works: MaintenanceWork[]
  private events: DayEvent[] = []
  private eventIndex = 0
  private plannedDay = -1
  /** Work that fell due in this step. */
  readonly due: MaintenanceWork[] = []
  private readonly startS: number

  constructor(
    private readonly habits: HabitParameters,
    private readonly options: {
      readonly seed: number
      readonly startMs: number
      readonly recipeCount: number
      readonly benign: BenignConfig
      readonly cleanings: readonly MaintenanceWork[]
      readonly alwaysProducing: boolean
      readonly conveyorRunsWhileIdle: boolean
      readonly potLeadMinutes: number
    },
  ) {
    this.random = new RandomStream(options.seed, 'schedule')
    this.works = [...options.cleanings].sort((a, b) => a.atHours - b.atHours)
    this.startS = options.startMs / 1000
    this.state = options.alwaysProducing ? 'production' : 'off'
    this.potOn = options.alwaysProducing
    this.setOutputs(0)
  }

  /** Work asked for while the simulation runs; it falls due at the next second. */
  request(work: MaintenanceWork): void {
    this.works.push(work)
    this.works.sort((a, b) => a.atHours - b.atHours)
  }

  get producing(): boolean {
    return this.state === 'production' || this.state === 'run-in'
  }

  /** One second, at `elapsedS` seconds from the start. */
  step(elapsedS: number, machine: MachineCondition): void {
    this.due.length = 0
    while (this.works.length > 0 && this.works[0]!.atHours * 3600 <= elapsedS) this.begin(this.works.shift()!, elapsedS)
    if (!this.options.alwaysProducing || this.state === 'maintenance') this.advance(elapsedS, machine)
    this.setOutputs(elapsedS)
  }

  private advance(elapsedS: number, machine: MachineCondition): void {
    const clockS = this.startS + elapsedS
    const secondOfDay = clockS % DAY_S
    const day = Math.floor(clockS / DAY_S)
    const workday = this.habits.workdays.includes((day + 4) % 7) // 1970-01-01 was a Thursday
    const startS = this.habits.dayStartMinute * 60
    const endS = this.habits.dayEndMinute * 60
    const heatOn = this.options.alwaysProducing || (workday && secondOfDay >= startS - this.habits.warmUpLeadMinutes * 60 && secondOfDay < endS + 300)
    const inDay = this.options.alwaysProducing || (workday && secondOfDay >= startS && secondOfDay < endS)
    const ready = machine.zonesReady && machine.potReady
    if (!ready) this.readySinceS = -1
    else if (this.readySinceS < 0) this.readySinceS = elapsedS
    this.potOn = this.options.alwaysProducing || heatOn || (workday && secondOfDay >= startS - this.options.potLeadMinutes * 60 && secondOfDay < endS)
    if (this.state === 'maintenance') {
      if (elapsedS < this.endS) return
      this.enter(heatOn ? 'warm-up' : 'off', elapsedS)
    }
    if (!heatOn) {
      if (this.state !== 'off') this.enter('off', elapsedS)
      return
    }
    switch (this.state) {
      case 'off':
        this.enter('warm-up', elapsedS)
        break
      case 'warm-up':
        if (this.readySinceS >= 0 && elapsedS - this.readySinceS >= READY_FOR_S) this.enter('standby', elapsedS)
        break
      case 'standby':
        if (inDay) this.enter('production', elapsedS)
        break
      case 'production':
      case 'run-in':
        if (!inDay) this.enter('idle', elapsedS, DAY_S)
        else this.produce(elapsedS, day, secondOfDay)
        break
      case 'idle':
        if (inDay && elapsedS >= this.endS) this.enter('production', elapsedS)
        break
      case 'changeover':
        this.changeOver(elapsedS, machine, inDay)
        break
    }
  }

  private produce(elapsedS: number, day: number, secondOfDay: number): void {
    if (this.state === 'run-in') {
      this.runInLeftS -= 1
      if (this.runInLeftS <= 0) this.enter('production', elapsedS)
    }
    if (day !== this.plannedDay) this.planDay(day, secondOfDay)
    const event = this.events[this.eventIndex]
    if (event === undefined || secondOfDay < event.atS) return
    this.eventIndex += 1
    if (event.kind === 'changeover') {
      this.recipeIndex = (this.recipeIndex + 1 + this.random.integer(0, this.options.recipeCount - 2)) % this.options.recipeCount
      this.enter('changeover', elapsedS, event.durationS)
      this.clearing = true
    } else this.enter('idle', elapsedS, event.durationS)
  }

  private changeOver(elapsedS: number, machine: MachineCondition, inDay: boolean): void {
    if (this.clearing) {
      if (!machine.tunnelEmpty && elapsedS - this.stateSinceS < CLEARING_MAX_S) return
      this.clearing = false
      this.appliedRecipeIndex = this.recipeIndex
      this.readySinceS = -1
      return
    }
    const settled = this.readySinceS >= 0 && elapsedS - this.readySinceS >= 120
    if ((elapsedS >= this.endS && settled) || elapsedS - this.stateSinceS >= CHANGEOVER_MAX_S) this.enter(inDay ? 'production' : 'idle', elapsedS, DAY_S)
  }

  private begin(work: MaintenanceWork, elapsedS: number): void {
    this.due.push(work)
    const durationS = (work.durationHours ?? 0) * 3600
    const runInS = (work.runInHours ?? (durationS > 0 ? 1.5 : 0)) * 3600
    this.runInLeftS = Math.max(this.runInLeftS, runInS)
    if (durationS <= 0) {
      if (runInS > 0 && this.state === 'production') this.enter('run-in', elapsedS)
      return
    }
    this.coldWork = durationS >= 2 * 3600 || work.causes.some((cause) => COLD_WORK.has(cause))
    const endS = elapsedS + durationS
    const longer = this.state === 'maintenance' ? Math.max(this.endS, endS) : endS
    this.enter('maintenance', elapsedS)
    this.endS = longer
  }

  private enter(state: SimulatedState, elapsedS: number, durationS = 0): void {
    this.state = state === 'production' && this.runInLeftS > 0 ? 'run-in' : state
    this.stateSinceS = elapsedS
    this.endS = elapsedS + durationS
    if (state === 'warm-up') {
      this.readySinceS = -1
      this.appliedRecipeIndex = this.recipeIndex
    }
  }

  private setOutputs(elapsedS: number): void {
    const { state } = this
    const idleS = elapsedS - this.stateSinceS
    this.heating = state !== 'off' && !(state === 'maintenance' && this.coldWork)
    this.loading = this.producing
    this.pumpOn = this.producing || state === 'changeover' || (state === 'idle' && idleS < PUMP_OFF_AFTER_S)
    this.conveyorOn = state === 'warm-up' || state === 'standby' || state === 'idle' ? this.options.conveyorRunsWhileIdle || (state === 'idle' && idleS < 120) : this.producing || state === 'changeover'
  }

  /** Changeovers, breaks and short stops of one working day. */
  private planDay(day: number, secondOfDay: number): void {
    const { habits, random } = this
    const { benign } = this.options
    this.plannedDay = day
    this.events = []
    this.eventIndex = 0
    const startS = habits.dayStartMinute * 60
    const shiftS = (habits.dayEndMinute * 60 - startS) / habits.shiftsPerDay
    for (let shift = 0; shift < habits.shiftsPerDay; shift += 1) {
      const fromS = startS + shift * shiftS
      // Drawn even where they are not wanted, so that switching one habit off leaves the others' times alone.
      const changeoverTimes = Array.from({ length: random.integer(habits.changeoversPerShift[0], habits.changeoversPerShift[1]) }, () => [random.uniform(0.05, 0.95), random.uniform(480, 900)] as const)
      const stopTimes = Array.from({ length: random.poisson(habits.stopsPerShift) }, () => [random.uniform(0.03, 0.97), random.uniform(0.3, 2)] as const)
      const breakAt = random.uniform(0.42, 0.58)
      if (benign.changeovers !== false && this.options.recipeCount > 1) for (const [share, durationS] of changeoverTimes) this.events.push({ atS: fromS + share * shiftS, kind: 'changeover', durationS })
      if (benign.stops !== false) for (const [share, factor] of stopTimes) this.events.push({ atS: fromS + share * shiftS, kind: 'stop', durationS: factor * habits.stopMinutes * 60 })
      if (benign.breaks !== false && habits.breakMinutes > 0) this.events.push({ atS: fromS + breakAt * shiftS, kind: 'break', durationS: habits.breakMinutes * 60 })
    }
    this.events.sort((a, b) => a.atS - b.atS)
    while (this.eventIndex < this.events.length && this.events[this.eventIndex]!.atS < secondOfDay) this.eventIndex += 1
  }
}
