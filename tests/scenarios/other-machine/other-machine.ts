/**
 * Telemetry of another machine than the simulator's, written independently of it: hot-air zones with a quick heater and a
 * slow wall, boards as single pulses of heat, white and reddened noise, a level that is topped up by hand. It knows
 * nothing of the detector. All numbers are modelling values chosen away from the simulator's own. [ASM]
 */
export interface OtherMachineOptions {
  readonly seed: number
  /** Calendar days, Monday first. */
  readonly days: number
  readonly zones: number
  /** Seconds between readings of zones and speed; the level comes ten times as seldom, at least every 10 s. */
  readonly periodS: number
  readonly publishesSetpoints: boolean
  /** Smallest step of a zone reading, °C. */
  readonly temperatureStepC?: number
  readonly fault?: OtherFault
}

export interface OtherFault {
  readonly kind: 'coated-thermocouple' | 'weak-element' | 'rough-chain' | 'dry-chain' | 'worn-sprocket' | 'slow-drive' | 'falling-level' | 'steeper-loss'
  readonly zone?: number
  /** Hours from the start of the telemetry. */
  readonly onsetHours: number
  /** Hours in which the severity goes from 0 to 1. */
  readonly growthHours: number
}

export interface OtherRow {
  readonly timeMs: number
  readonly values: readonly (readonly [channel: string, value: number])[]
  /** Severity of the fault, 0-1. */
  readonly severity: number
  readonly phase: Phase
}

type Phase = 'night' | 'heating' | 'waiting' | 'running' | 'break' | 'changeover'

const START_MS = Date.UTC(2026, 2, 2)
const HOUR_S = 3600

interface Zone {
  airC: number
  wallC: number
  heaterW: number
  integral: number
  sensorC: number
  gustC: number
  readonly maxW: number
  readonly airJPerK: number
  readonly wallJPerK: number
  readonly wallWPerK: number
  readonly lossWPerK: number
  readonly gainPerK: number
  readonly integralS: number
  readonly lagS: number
  readonly gustSdC: number
  readonly gustS: number
  readonly biasC: number
}

interface Recipe {
  readonly targetsC: readonly number[]
  readonly speedMmS: number
  readonly intervalS: number
  readonly heatJ: number
}

/** A small generator of its own: numbers in [0, 1). */
export function chanceStream(seed: number): () => number {
  let state = (seed * 2_654_435_761) >>> 0 || 1
  return () => {
    state ^= state << 13
    state >>>= 0
    state ^= state >>> 17
    state ^= state << 5
    state >>>= 0
    return state / 4_294_967_296
  }
}

/** One row a second of the machine's life, published at the channels' own periods. */
export function* otherMachine(options: OtherMachineOptions): Generator<OtherRow> {
  const chance = chanceStream(options.seed)
  const between = (low: number, high: number): number => low + (high - low) * chance()
  const normal = (): number => Math.sqrt(-2 * Math.log(1 - chance())) * Math.cos(2 * Math.PI * chance())
  const zones = Array.from({ length: options.zones }, () => drawZone(between))
  const recipes = Array.from({ length: 2 + Math.floor(2 * chance()) }, (_, index) => drawRecipe(index, options.zones, between))
  const plan = drawPlan(options.days, recipes.length, between, chance)
  const belt = drawBelt(between)
  const bath = { mm: between(-1, 1.5), lossMmPerH: between(0.5, 1.4), noiseMm: between(0.15, 0.4), stepMm: [0.1, 0.5][Math.floor(2 * chance())]!, topAtMm: between(-3.6, -2.2), barMm: between(1.8, 3), meltingMm: 0, pumpMm: between(1, 2.5) }
  const temperatureStepC = options.temperatureStepC ?? 0.1
  const levelPeriodS = Math.max(10, options.periodS * 2)
  const hall = { meanC: between(21, 30), swingC: between(1, 3), draught: 0 }
  let nextBoardS = 0
  const travelling: { s: number; heatJ: number }[] = []

  for (let second = 0; second < options.days * 24 * HOUR_S; second += 1) {
    const { phase, recipe: at, batchOff } = plan(second)
    const recipe = recipes[at]!
    const severity = severityAt(options.fault, second / HOUR_S)
    const roomC = hall.meanC + hall.swingC * Math.sin((2 * Math.PI * (second / HOUR_S - 9)) / 24)
    hall.draught += -hall.draught / 700 + 0.0011 * normal()
    // boards come one by one, in batches
    if (phase === 'running' && !batchOff && second >= nextBoardS) {
      travelling.push({ s: second, heatJ: recipe.heatJ })
      nextBoardS = second + recipe.intervalS * between(0.9, 1.15)
    }
    while (travelling.length > 0 && second - travelling[0]!.s > 220) travelling.shift()
    const heats = phase !== 'night'
    zones.forEach((zone, index) => {
      let boardW = 0
      // each board gives its pulse a little later in the next zone
      for (const board of travelling) {
        const age = second - board.s - (150 / options.zones) * index
        if (age > 0 && age < 90) boardW += (board.heatJ / options.zones / 24) * Math.exp(-age / 24)
      }
      stepZone(zone, { targetC: heats ? recipe.targetsC[index]! : 0, boardW, roomC, draught: hall.draught, fault: options.fault?.zone === index + 1 ? options.fault.kind : undefined, severity, normal })
    })
    const publishes = second % options.periodS === 0
    const publishesLevel = second % levelPeriodS === 0
    const speed = stepBelt(belt, heats ? recipe.speedMmS : 0, options.fault?.kind, severity, { normal, chance })
    stepBath(bath, phase, options.fault?.kind, severity, chance)
    if (!publishes && !publishesLevel) continue
    const values: [string, number][] = []
    if (publishes) {
      zones.forEach((zone, index) => {
        values.push([`preheat.zone-${index + 1}.temperature`, round(zone.sensorC + zone.biasC + 0.06 * normal(), temperatureStepC)])
        if (options.publishesSetpoints && second % 60 === 0) values.push([`preheat.zone-${index + 1}.setpoint`, heats ? recipe.targetsC[index]! : 20])
      })
      values.push(['conveyor.speed', round(speed, 0.01)])
      if (options.publishesSetpoints && second % 60 === 0) values.push(['conveyor.setpoint', heats ? recipe.speedMmS : 0])
    }
    if (publishesLevel) values.push(['pot.level', round(bath.mm - (phase === 'running' || phase === 'changeover' ? bath.pumpMm : 0) + (options.fault?.kind === 'falling-level' ? -30 * severity : 0) + bath.noiseMm * normal(), bath.stepMm)])
    yield { timeMs: START_MS + second * 1000, values, severity, phase }
  }
}

function round(value: number, step: number): number {
  return Number((Math.round(value / step) * step).toFixed(3))
}

function severityAt(fault: OtherFault | undefined, hours: number): number {
  return fault === undefined ? 0 : Math.min(1, Math.max(0, (hours - fault.onsetHours) / fault.growthHours))
}

function drawZone(between: (low: number, high: number) => number): Zone {
  const lossWPerK = between(10, 24)
  const wallWPerK = between(12, 40)
  return {
    airC: 24, wallC: 24, heaterW: 0, integral: 0, sensorC: 24, gustC: 0,
    maxW: (lossWPerK * 150) / between(0.4, 0.62), airJPerK: between(9000, 24_000), wallJPerK: between(15_000, 45_000), wallWPerK, lossWPerK,
    gainPerK: between(0.02, 0.05), integralS: between(180, 420), lagS: between(3, 11), gustSdC: between(0.25, 0.5), gustS: between(3, 7), biasC: between(-1.2, 1.2),
  }
}

function drawRecipe(index: number, zones: number, between: (low: number, high: number) => number): Recipe {
  const first = 5 * Math.round(between(17, 21)) + 10 * index
  const rise = between(30, 60) / Math.max(1, zones - 1)
  return {
    targetsC: Array.from({ length: zones }, (_, zone) => 5 * Math.round((first + rise * zone) / 5)),
    speedMmS: Math.round(between(14, 26)),
    intervalS: between(20, 45),
    heatJ: between(18_000, 34_000),
  }
}

interface Step {
  readonly targetC: number
  readonly boardW: number
  readonly roomC: number
  readonly draught: number
  readonly fault: OtherFault['kind'] | undefined
  readonly severity: number
  readonly normal: () => number
}

function stepZone(zone: Zone, step: Step): void {
  const error = step.targetC - zone.sensorC
  const weak = step.fault === 'weak-element' ? 1 - 0.5 * step.severity : 1
  const wanted = step.targetC === 0 ? 0 : zone.gainPerK * error + zone.integral
  const duty = Math.min(1, Math.max(0, wanted))
  // conditional integration: the sum waits while the output is at a stop
  if (step.targetC > 0 && (wanted === duty || (wanted > 1 && error < 0) || (wanted < 0 && error > 0))) zone.integral += (zone.gainPerK * error) / zone.integralS
  if (step.targetC === 0) zone.integral = 0
  zone.heaterW += (duty * zone.maxW * weak - zone.heaterW) / 25
  const toWall = zone.wallWPerK * (zone.airC - zone.wallC)
  const lost = zone.lossWPerK * (1 + 0.6 * step.draught) * (zone.airC - step.roomC)
  zone.airC += (zone.heaterW - toWall - lost - step.boardW) / zone.airJPerK
  zone.wallC += (toWall - 2 * (zone.wallC - step.roomC)) / zone.wallJPerK
  zone.gustC += -zone.gustC / zone.gustS + zone.gustSdC * Math.sqrt(2 / zone.gustS) * step.normal()
  const lagS = step.fault === 'coated-thermocouple' ? zone.lagS + (48 - zone.lagS) * step.severity ** 1.4 : zone.lagS
  zone.sensorC += (zone.airC + (step.targetC === 0 ? 0.2 : 1) * zone.gustC - zone.sensorC) / lagS
}

interface Belt {
  red: number
  way: number
  dip: { left: number; depth: number; back: number } | undefined
  readonly noise: number
  readonly ripple: number
  readonly turnMm: number
}

function drawBelt(between: (low: number, high: number) => number): Belt {
  return { red: 0, way: 0, dip: undefined, noise: between(0.003, 0.008), ripple: between(0.001, 0.004), turnMm: 304.8 }
}

function stepBelt(belt: Belt, target: number, fault: OtherFault['kind'] | undefined, severity: number, { normal, chance }: { normal: () => number; chance: () => number }): number {
  if (target === 0) return 0
  belt.way += target
  const rough = fault === 'rough-chain' || fault === 'dry-chain' ? severity : 0
  const noise = belt.noise * (1 + (fault === 'rough-chain' ? 4 : 3) * rough)
  belt.red = 0.4 * belt.red + 0.9 * normal()
  const ripple = belt.ripple + (fault === 'worn-sprocket' ? 0.035 * severity : 0)
  let share = 1 + noise * belt.red + ripple * Math.sin((2 * Math.PI * belt.way) / belt.turnMm) - (fault === 'slow-drive' ? 0.03 * severity : 0)
  const jumpsPerHour = 0.1 + (fault === 'rough-chain' ? 50 : 12) * rough ** 2
  if (belt.dip === undefined && chance() < jumpsPerHour / HOUR_S) belt.dip = { left: 1 + Math.floor(2 * chance()), depth: 0.3 + 0.6 * chance(), back: 0 }
  if (belt.dip !== undefined) {
    if (belt.dip.left > 0) {
      share -= belt.dip.depth
      belt.dip.back += belt.dip.depth
      belt.dip.left -= 1
    } else {
      share += belt.dip.back
      belt.dip = undefined
    }
  }
  return Math.max(0, target * share)
}

interface Bath {
  mm: number
  meltingMm: number
  readonly lossMmPerH: number
  readonly noiseMm: number
  readonly stepMm: number
  readonly topAtMm: number
  readonly barMm: number
  readonly pumpMm: number
}

function stepBath(bath: Bath, phase: Phase, fault: OtherFault['kind'] | undefined, severity: number, chance: () => number): void {
  const loses = phase === 'running' ? 1 : phase === 'night' ? 0 : 0.35
  bath.mm -= (bath.lossMmPerH * loses * (fault === 'steeper-loss' ? 1 + 1.5 * severity : 1)) / HOUR_S
  // somebody looks every quarter of an hour or so, and adds bars
  if (phase !== 'night' && bath.meltingMm === 0 && bath.mm < bath.topAtMm && chance() < 1 / 900) bath.meltingMm = bath.barMm
  const melted = Math.min(bath.meltingMm, bath.barMm / 120)
  bath.mm += melted
  bath.meltingMm -= melted
}

type Plan = (second: number) => { readonly phase: Phase; readonly recipe: number; readonly batchOff: boolean }

/** Two shifts on working days: heated from about five, boards from six, breaks, stops, two or three changeovers, idle at times. */
function drawPlan(days: number, recipes: number, between: (low: number, high: number) => number, chance: () => number): Plan {
  const plans = Array.from({ length: days }, () => {
    const changes = [0, between(8.5, 12), between(13, 19)].map((atHour) => ({ atHour, recipe: Math.floor(recipes * chance()) }))
    const stops = Array.from({ length: 2 + Math.floor(3 * chance()) }, () => ({ from: between(6.5, 21), hours: between(0.05, 0.4) }))
    return { heatHour: between(4.8, 5.3), changes, stops: [...stops, { from: 10, hours: 0.33 }, { from: 14, hours: 0.25 }, { from: 18, hours: 0.33 }] }
  })
  const workDays = 5 + Math.floor(3 * chance())
  const batchS = between(400, 1200)
  const gapS = between(60, 240)
  return (second) => {
    const day = Math.floor(second / 86_400)
    const hour = (second % 86_400) / HOUR_S
    const { heatHour, changes, stops } = plans[day]!
    const present = changes.findLast(({ atHour }) => atHour <= hour)!
    const batchOff = second % (batchS + gapS) > batchS
    const plan = (phase: Phase): ReturnType<Plan> => ({ phase, recipe: present.recipe, batchOff })
    if (day % 7 >= workDays || hour < heatHour || hour >= 22) return plan('night')
    if (hour < 5.8) return plan('heating')
    if (hour < 6) return plan('waiting')
    if (present.atHour > 0 && hour - present.atHour < 0.25) return plan('changeover')
    return plan(stops.some(({ from, hours }) => hour >= from && hour < from + hours) ? 'break' : 'running')
  }
}

/** Hour in the middle of a working day after so many days of production. */
export function hourOfDay(day: number, hour: number): number {
  return 24 * day + hour
}
