import { RandomStream } from './random-stream.js'
import { referenceRecipe, referenceSite, referenceZone, type RecipeParameters, type SiteParameters, type ZoneParameters } from './site-parameters.js'
import { heatedTemperatureC } from './thermocouple-lag.js'

/**
 * A random plant: every parameter drawn from its range around the reference line [ASM], each part from a stream of its own.
 *
 * @param seed any whole number
 */
export function drawSite(seed: number): SiteParameters {
  const site = referenceSite()
  const machine = new RandomStream(seed, 'site.machine')
  const zoneCount = machine.pick([3, 3, 3, 3, 4, 2])
  const kind = machine.chance(0.75) ? ('convection' as const) : ('radiant' as const)
  const thermocouple = kind === 'radiant' ? machine.pick(['on-element', 'board-air'] as const) : machine.pick(['board-air', 'board-air', 'heater-outlet'] as const)
  const lengthMm = Math.round((1800 * machine.uniform(0.9, 1.1)) / zoneCount)
  site.zones = Array.from({ length: zoneCount }, (_, index) => ({ ...drawZone(new RandomStream(seed, `site.zone-${index + 1}`), kind), thermocouple, lengthMm }))
  const stepC = machine.uniform(12, 24)
  const recipes = new RandomStream(seed, 'site.recipes')
  site.recipes = Array.from({ length: recipes.integer(2, 4) }, (_, index) => drawRecipe(recipes, index, site.zones, stepC))
  drawConveyor(new RandomStream(seed, 'site.conveyor'), site)
  drawPot(new RandomStream(seed, 'site.pot'), site)
  drawFluxer(new RandomStream(seed, 'site.fluxer'), site)
  drawHabits(new RandomStream(seed, 'site.habits'), site)
  const hall = new RandomStream(seed, 'site.hall')
  site.ambientC = 28 + hall.uniform(-3, 3)
  site.ambientDailySwingC = hall.uniform(1, 3)
  site.draughtSd = hall.uniform(0, 0.04)
  site.temperatureQuantumC = hall.chance(0.85) ? 0.1 : 1
  return site
}

function drawZone(random: RandomStream, kind: ZoneParameters['kind']): ZoneParameters {
  const reference = referenceZone()
  const transferWPerK = random.logUniform(40, 100) // 30-120
  const airLossWPerK = 18 * random.logUniform(0.65, 1.5)
  const heaterLossWPerK = 6 * random.logUniform(0.6, 1.7)
  // A heater is chosen for its zone: so large that production needs 35-70 % of it.
  const needW = airLossWPerK * 115 + heaterLossWPerK * (115 + (airLossWPerK * 115) / transferWPerK) + 300
  const powerMaxW = Math.min(12_000, Math.max(3000, needW / random.uniform(0.38, 0.66)))
  return {
    ...reference,
    kind,
    blower: random.chance(0.75) ? 'fixed-speed' : 'constant-flow',
    powerMaxW,
    heaterCapacityJPerK: 6000 * random.logUniform(0.6, 1.8),
    airCapacityJPerK: 15_000 * random.logUniform(0.6, 1.8),
    transferWPerK,
    heaterLossWPerK,
    airLossWPerK,
    airFlowWPerK: transferWPerK * random.uniform(1.7, 2.6),
    radiantShare: random.uniform(0.2, 0.4),
    sensorLagS: random.logUniform(2.5, 9), // 2-12
    sensorLagMaxS: random.uniform(40, 60),
    fouledStemShare: random.uniform(0.008, 0.032),
    fouledRadiationC: random.uniform(4, 10),
    sensorBiasC: random.uniform(-1.5, 1.5),
    turbulenceSdC: random.uniform(0.3, 0.5),
    turbulenceCorrelationS: random.uniform(3, 6),
    gainPerK: reference.gainPerK * random.uniform(0.7, 1.4) * (6000 / powerMaxW) ** 0.3,
    integralTimeS: reference.integralTimeS * random.uniform(0.7, 1.5),
    blowerCurrentA: random.uniform(0.8, 2.6),
  }
}

/** A recipe as a process engineer would set it: zone temperatures that bring this board to 100-118 °C at the end of preheat. */
function drawRecipe(random: RandomStream, index: number, zones: readonly ZoneParameters[], stepC: number): RecipeParameters {
  const boardTauS = random.uniform(45, 85)
  const speedMmS = Math.round(random.uniform(16, 24) * 2) / 2
  const wantedC = random.uniform(100, 118)
  let entryC = 70
  const airC = (zone: number): number => 5 * Math.round((entryC + stepC * zone) / 5)
  while (entryC < 200 && exitC(zones, airC, boardTauS, speedMmS) < wantedC) entryC += 5
  return {
    ...referenceRecipe(),
    id: `recipe-${'abcdefgh'.charAt(index)}`,
    zoneTemperaturesC: zones.map((_, zone) => airC(zone)),
    speedMmS,
    boardIntervalS: Math.round(random.uniform(24, 42)),
    boardHeatCapacityJPerK: random.uniform(220, 520),
    boardTauS,
    boardLengthMm: Math.round(random.uniform(180, 320)),
    fluxPerBoardG: random.uniform(2.8, 5.6),
    jointCount: random.integer(120, 600),
    potC: random.pick([258, 260, 260, 262]),
  }
}

/** Board temperature after the tunnel by the first-order formula; an emitter adds its share from some 45 °C above the air. */
function exitC(zones: readonly ZoneParameters[], airC: (zone: number) => number, boardTauS: number, speedMmS: number): number {
  return zones.reduce((boardC, zone, index) => {
    const share = zone.kind === 'radiant' ? zone.radiantShare : 0
    const effectiveC = airC(index) + (45 * share) / (1 + share)
    return heatedTemperatureC(effectiveC, boardC, zone.lengthMm / speedMmS, boardTauS / (1 + share))
  }, 28)
}

function drawConveyor(random: RandomStream, site: SiteParameters): void {
  const { conveyor } = site
  conveyor.chainPitchMm = random.pick([12.7, 25.4, 25.4])
  conveyor.sprocketTeeth = random.pick([10, 12, 14, 16, 20])
  conveyor.chainLoopMm = Math.round(random.uniform(9000, 14_000) / conveyor.chainPitchMm) * conveyor.chainPitchMm
  conveyor.speedSensor = random.chance(0.75) ? 'chain' : 'motor'
  conveyor.rippleShare = random.uniform(0.1, 0.5)
  conveyor.noiseShare = random.uniform(0.005, 0.009)
  conveyor.normalForceN = random.uniform(300, 600)
  conveyor.currentIdleA = random.uniform(0.45, 0.85)
  conveyor.coldDragN = random.uniform(30, 60)
  conveyor.lubricantLifeHours = random.uniform(200, 600)
  conveyor.runsWhileIdle = random.chance(0.7)
}

function drawPot(random: RandomStream, site: SiteParameters): void {
  const { pot } = site
  const size = random.logUniform(0.7, 1.5)
  pot.massKg = 400 * size
  pot.surfaceAreaM2 = 0.27 * size
  pot.lossWPerK = 15 * size * random.uniform(0.85, 1.15)
  pot.powerMaxW = 11_000 * size
  pot.dragPerBoardG = random.uniform(5, 20)
  pot.drossKgPerHour = random.logUniform(0.4, 1.6)
  pot.levelSensor = random.chance(0.5) ? 'float' : 'non-contact'
  pot.levelNoiseMm = random.uniform(0.2, 0.5)
  pot.levelQuantumMm = random.pick([0.1, 0.5, 0.5, 1])
  pot.pumpDropMm = random.uniform(1, 3)
  pot.feed = random.chance(0.7) ? 'bars' : 'wire'
  pot.topUpAtMm = random.uniform(-4, -2)
  pot.night = random.chance(0.7) ? 'hold' : 'off'
  pot.nightC = random.pick([235, 245, 260])
  pot.waveControl = random.chance(0.6) ? 'fixed-speed' : 'height'
  pot.pumpNominalPercent = random.uniform(45, 70)
}

function drawFluxer(random: RandomStream, site: SiteParameters): void {
  site.fluxer.feed = random.chance(0.6) ? 'pressure' : 'metered-pump'
  site.fluxer.pressureBar = random.uniform(0.4, 1.5)
  site.fluxer.solidsShare = random.uniform(0.02, 0.05)
  site.fluxer.strokeTimeS = random.uniform(0.45, 0.7)
  site.fluxer.fanWidthMm = random.uniform(26, 36)
}

function drawHabits(random: RandomStream, site: SiteParameters): void {
  const { habits } = site
  habits.workdays = random.pick([[1, 2, 3, 4, 5], [1, 2, 3, 4, 5], [1, 2, 3, 4, 5, 6], [0, 1, 2, 3, 4, 5, 6]])
  habits.warmUpLeadMinutes = random.uniform(40, 75)
  const manual = random.chance(0.6)
  habits.batchOnS = manual ? random.uniform(300, 900) : 1800
  habits.batchOffS = manual ? random.uniform(60, 240) : 0
  habits.intervalJitterS = manual ? random.uniform(3, 8) : 0.2
  const changeoversMax = random.integer(2, 4)
  habits.changeoversPerShift = [1, changeoversMax]
  habits.breakMinutes = random.uniform(15, 30)
  habits.stopsPerShift = random.uniform(0.5, 4)
  habits.stopMinutes = random.uniform(3, 10)
  habits.skimsPerShift = random.uniform(0.5, 2)
}
