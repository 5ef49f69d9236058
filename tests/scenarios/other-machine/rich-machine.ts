import { chanceOf, ChainDrive, HotAirZone, SprayHead, type Chance, type SeverityOf } from './rich-machine-parts.js'
import { DEFECTS, defectsExpected, SolderBath } from './rich-machine-pot.js'

/** A second machine that publishes all channels. It knows nothing of the detector nor of the simulator. All numbers [ASM]. */
export interface RichMachineOptions {
  readonly seed: number
  /** Calendar days, Monday first; five of seven are worked. */
  readonly days: number
  readonly zones: number
  readonly periodS: number
  readonly feed: 'pressure' | 'metered-pump'
  readonly fault?: RichFault
}

export interface RichFault {
  readonly kind: string
  readonly zone?: number
  /** Hours from the start of the telemetry. */
  readonly onsetHours: number
  /** Hours with the machine hot in which the severity goes from 0 to 1; 0 for a step. */
  readonly growthHours: number
}

export interface RichRow {
  readonly timeMs: number
  readonly values: readonly (readonly [channel: string, value: number | string])[]
  readonly severity: number
}

type Phase = 'night' | 'heating' | 'changeover' | 'break' | 'running'

interface Recipe {
  readonly id: string
  readonly targetsC: readonly number[]
  readonly speedMmS: number
  readonly everyS: number
  readonly heatJPerK: number
  readonly tauS: number
  readonly fluxG: number
  readonly joints: number
  readonly potC: number
}

interface Board {
  readonly recipe: Recipe
  mm: number
  c: number
}

const START_MS = Date.UTC(2026, 2, 2)
const HOUR_S = 3600
const ZONE_MM = 550
const INSPECTED_AFTER_S = 40

/** The line as a site would describe it. */
export function richDefinition({ zones, periodS, feed }: RichMachineOptions) {
  const numbers = Array.from({ length: zones }, (_, index) => index + 1)
  const slow = ['conveyor.setpoint', 'pot.setpoint', 'line.recipe', 'ambient.temperature'].map((channel) => ({ channel, periodS: 60 }))
  const perBoard = ['topside-temperature', 'count', ...DEFECTS.map((kind) => `defects.${kind}`)].map((name) => ({ channel: `board.${name}`, periodS: 30 }))
  return {
    line: 'rich-machine',
    machine: { fluxer: { feed }, zones: numbers.map(() => ({ thermocouple: 'board-air' as const, blower: 'fixed-speed' as const })), conveyor: { speedSensor: 'chain' as const, chainPitchMm: 25.4, sprocketTeeth: 12 } },
    channels: [
      ...numbers.flatMap((zone) => ['temperature', 'duty', 'blower-current'].map((name) => ({ channel: `preheat.zone-${zone}.${name}`, periodS }))),
      ...numbers.map((zone) => ({ channel: `preheat.zone-${zone}.setpoint`, periodS: 60 })),
      ...['pot.temperature', 'pot.duty', 'pot.pump-speed', 'pot.wave-height'].map((channel) => ({ channel, periodS })),
      ...['conveyor.speed', 'conveyor.current', 'fluxer.flow', 'fluxer.pressure', 'fluxer.spray-on'].map((channel) => ({ channel, periodS: 1 })),
      ...slow, ...perBoard, { channel: 'pot.level', periodS: 30 }, { channel: 'exhaust.pressure', periodS: 10 },
    ],
  }
}

/** One row a second. */
export function* richMachine(options: RichMachineOptions): Generator<RichRow> {
  const machine = new RichMachine(options)
  for (let second = 0; second < options.days * 24 * HOUR_S; second += 1) {
    const values = machine.step(second)
    if (values.length > 0) yield { timeMs: START_MS + second * 1000, values, severity: machine.severity }
  }
}

class RichMachine {
  severity = 0
  private readonly chance: Chance
  private readonly zones: HotAirZone[]
  private readonly drive: ChainDrive
  private readonly spray: SprayHead
  private readonly bath: SolderBath
  private readonly recipes: Recipe[]
  private readonly phaseAt: (second: number) => { phase: Phase; recipe: number; air: number }
  private readonly room: { readonly meanC: number; readonly swingC: number; readonly draughtSd: number }
  private draught = 0
  private hotS = 0
  private boards: Board[] = []
  private readonly inspected: { readonly atS: number; readonly board: Board }[] = []
  private nextBoardS = 0
  private count = 0
  private readonly rateRatio: number

  constructor(private readonly options: RichMachineOptions) {
    const chance = (this.chance = chanceOf(options.seed))
    const { between } = chance
    this.recipes = Array.from({ length: 2 + Math.floor(between(0, 2)) }, (_, index) => drawRecipe(index, options.zones, between))
    this.zones = Array.from({ length: options.zones }, (_, index) => new HotAirZone(index + 1, chance, Math.max(...this.recipes.map(({ targetsC }) => targetsC[index]!))))
    this.drive = new ChainDrive(chance)
    this.spray = new SprayHead(options.feed, chance)
    this.bath = new SolderBath(chance, options.seed % 2 === 0)
    this.phaseAt = drawPlan(options.days, this.recipes.length, between)
    this.room = { meanC: between(23, 30), swingC: between(1, 3), draughtSd: between(0, 0.04) }
    this.rateRatio = between(1.5, 3)
  }

  step(second: number): (readonly [string, number | string])[] {
    const { chance, options } = this
    const { phase, recipe: at, air } = this.phaseAt(second)
    const recipe = this.recipes[at]!
    const isHot = phase !== 'night'
    this.age(second, isHot)
    const severity: SeverityOf = (kind, zone) => (options.fault?.kind === kind && options.fault.zone === zone ? this.severity : 0)
    const roomC = this.room.meanC + this.room.swingC * Math.sin((2 * Math.PI * (second / HOUR_S - 9)) / 24)
    this.draught += -this.draught / 600 + this.room.draughtSd * Math.sqrt(2 / 600) * chance.normal()
    const values: (readonly [string, number | string])[] = []
    if (phase === 'running' && second >= this.nextBoardS) {
      this.boards.push({ recipe, mm: -400, c: roomC })
      this.nextBoardS = second + recipe.everyS * chance.between(0.92, 1.15)
      this.spray.startBoard(recipe.fluxG, 250 / recipe.speedMmS)
      values.push(['board.count', (this.count += 1)])
    }
    const boardsW = this.moveBoards(isHot ? recipe.speedMmS : 0, second, severity)
    const filter = 1 - 0.6 * severity('saturated-filter')
    this.zones.forEach((zone, index) => zone.step({ targetC: isHot ? recipe.targetsC[index]! : 0, boardsW: boardsW[index]!, roomC, air: air * (1 + this.draught) * (index === 0 ? 0.75 + 0.25 * filter : 1) }, severity))
    this.drive.step(isHot ? recipe.speedMmS : 0, severity)
    this.bath.step({ targetC: isHot ? recipe.potC : recipe.potC - 15, roomC, isHot, pumpShare: phase === 'running' || phase === 'changeover' ? 1 : 0, boardsPerS: phase === 'running' ? 1 / recipe.everyS : 0 }, severity)
    this.spray.step(isHot, severity)
    this.inspect(second, severity, values)
    this.publish(second, { isHot, recipe, roomC, suction: (filter * air) ** 2 }, severity, values)
    return values
  }

  private age(second: number, isHot: boolean): void {
    const { fault } = this.options
    if (fault === undefined || second < fault.onsetHours * HOUR_S || !isHot) return
    this.hotS += 1
    this.severity = fault.growthHours === 0 ? 1 : Math.min(1, this.hotS / HOUR_S / fault.growthHours)
  }

  private moveBoards(speedMmS: number, second: number, severity: SeverityOf): Float64Array {
    const boardsW = new Float64Array(this.zones.length)
    for (const board of this.boards) {
      board.mm += speedMmS
      const index = Math.floor(board.mm / ZONE_MM)
      const zone = this.zones[index]
      if (zone === undefined) continue
      const heatW = (board.recipe.heatJPerK / board.recipe.tauS) * zone.boardShare(severity) * (zone.airC - board.c)
      boardsW[index]! += heatW
      board.c += heatW / board.recipe.heatJPerK
    }
    const end = this.zones.length * ZONE_MM
    for (const board of this.boards) if (board.mm >= end) this.inspected.push({ atS: second + INSPECTED_AFTER_S, board })
    this.boards = this.boards.filter(({ mm }) => mm < end)
    return boardsW
  }

  private inspect(second: number, severity: SeverityOf, values: (readonly [string, number | string])[]): void {
    while (this.inspected.length > 0 && this.inspected[0]!.atS <= second) {
      const { recipe, c } = this.inspected.shift()!.board
      values.push(['board.topside-temperature', rounded(c + 0.7 * this.chance.normal(), 0.1)])
      const expected = defectsExpected({ joints: recipe.joints, topsideC: c, flux: this.spray.leastShare(severity), speedMmS: recipe.speedMmS, waveSdMm: 0.12 + 0.5 * severity('dross-at-intake') }, severity)
      DEFECTS.forEach((kind, index) => values.push([`board.defects.${kind}`, this.chance.count(expected[index]!, this.rateRatio)]))
    }
  }

  private publish(second: number, now: { readonly isHot: boolean; readonly recipe: Recipe; readonly roomC: number; readonly suction: number }, severity: SeverityOf, values: (readonly [string, number | string])[]): void {
    const { zones, bath, drive, spray, chance } = this
    const { isHot, recipe } = now
    if (second % this.options.periodS === 0) {
      zones.forEach((zone, index) => values.push([`preheat.zone-${index + 1}.temperature`, rounded(zone.read(), 0.1)], [`preheat.zone-${index + 1}.duty`, rounded(100 * zone.dutyShown, 0.1)], [`preheat.zone-${index + 1}.blower-current`, rounded(zone.readBlower(isHot, severity), 0.001)]))
      values.push(['pot.temperature', rounded(bath.readC(severity) + 0.08 * chance.normal(), 0.1)], ['pot.duty', rounded(100 * bath.duty, 0.1)], ['pot.pump-speed', rounded(60 * bath.pumpShare, 0.1)], ['pot.wave-height', rounded(bath.waveMm, 0.01)])
    }
    if (second % 30 === 0) values.push(['pot.level', rounded(bath.readLevelMm(severity), 0.1)])
    if (second % 10 === 0) values.push(['exhaust.pressure', rounded(-110 * now.suction * (1 + 0.02 * chance.normal()), 0.1)])
    if (second % 60 === 0) values.push(...zones.map((_, index) => [`preheat.zone-${index + 1}.setpoint`, isHot ? recipe.targetsC[index]! : 20] as const), ['conveyor.setpoint', isHot ? recipe.speedMmS : 0], ['pot.setpoint', isHot ? recipe.potC : recipe.potC - 15], ['line.recipe', recipe.id], ['ambient.temperature', rounded(now.roomC + 0.15 * chance.normal(), 0.1)])
    if (isHot || second % 10 === 0) values.push(['conveyor.speed', rounded(drive.speedMmS, 0.01)], ['conveyor.current', rounded(drive.currentA, 0.001)], ['fluxer.flow', rounded(spray.flowMlMin, 0.01)], ['fluxer.pressure', rounded(spray.pressureBar, 0.001)], ['fluxer.spray-on', spray.isOpen ? 1 : 0])
  }
}

function rounded(value: number, step: number): number {
  return Number((Math.round(value / step) * step).toFixed(3))
}

function drawRecipe(index: number, zones: number, between: Chance['between']): Recipe {
  const first = 5 * Math.round(between(20, 23))
  return { id: `p-${100 + index}`, targetsC: Array.from({ length: zones }, (_, zone) => first + 5 * Math.round(zone * between(2, 5))), speedMmS: Math.round(between(150, 260)) / 10, everyS: between(22, 50), heatJPerK: between(250, 480), tauS: between(45, 90), fluxG: between(3, 5.5), joints: Math.round(between(150, 500)), potC: 255 + 5 * Math.round(between(0, 2)) }
}

/** Two shifts on workdays with changeovers, breaks, short stops, and now and then the house's exhaust at another setting. */
function drawPlan(days: number, recipes: number, between: Chance['between']): (second: number) => { phase: Phase; recipe: number; air: number } {
  const plans = Array.from({ length: days }, () => ({
    heatHour: between(4.7, 5.2),
    changes: [0, ...Array.from({ length: 1 + Math.floor(between(0, 3)) }, () => between(7, 20.5)).sort((a, b) => a - b)].map((atHour) => ({ atHour, recipe: Math.floor(between(0, recipes)) })),
    stops: [[10, 10.33], [14, 14.2], [18, 18.4], ...Array.from({ length: Math.floor(between(0, 4)) }, () => between(6.5, 21)).map((from) => [from, from + between(0.05, 0.5)])],
    air: between(0, 1) < 0.3 ? { from: between(7, 18), hours: between(0.5, 5), share: between(0.8, 1.25) } : { from: 0, hours: 0, share: 1 },
  }))
  return (second) => {
    const day = Math.floor(second / 86_400)
    const hour = (second % 86_400) / HOUR_S
    const { heatHour, changes, stops, air } = plans[day]!
    const { atHour, recipe } = changes.findLast((change) => change.atHour <= hour)!
    const at = (phase: Phase): { phase: Phase; recipe: number; air: number } => ({ phase, recipe, air: hour >= air.from && hour < air.from + air.hours ? air.share : 1 })
    if (day % 7 >= 5 || hour < heatHour || hour >= 22) return at('night')
    if (hour < 6) return at('heating')
    if (atHour > 0 && hour - atHour < 0.22) return at('changeover')
    return at(stops.some(([from, until]) => hour >= from! && hour < until!) ? 'break' : 'running')
  }
}
