import type { Thermocouple } from './thermocouple-lag.js'

/** One preheat zone: two thermal nodes (heater body, air at board level), sensor and controller. */
export interface ZoneParameters {
  kind: 'convection' | 'radiant'
  /** What the control thermocouple measures: it decides the sign of several symptoms. */
  thermocouple: Thermocouple
  blower: 'fixed-speed' | 'constant-flow'
  lengthMm: number
  powerMaxW: number
  heaterCapacityJPerK: number
  airCapacityJPerK: number
  /** Heater body to zone air at full, clean flow (hA0). */
  transferWPerK: number
  heaterLossWPerK: number
  /** Extraction and wall losses of the zone air at nominal extraction. */
  airLossWPerK: number
  /** Heat carried by the blown air (mass flow times heat capacity): sets how far the heater outlet lies above the zone. */
  airFlowWPerK: number
  /** Radiant zones: emitter-to-board exchange as a share of the board's convective exchange. */
  radiantShare: number
  sensorLagS: number
  /** Lag under the thickest coating. */
  sensorLagMaxS: number
  /** Coated sensor in convection: share of its excess over ambient lost through the deposit bridge, at severity 1. */
  fouledStemShare: number
  /** Coated sensor in radiation: °C read too high by the darker surface, at severity 1. */
  fouledRadiationC: number
  sensorBiasC: number
  turbulenceSdC: number
  turbulenceCorrelationS: number
  gainPerK: number
  integralTimeS: number
  blowerCurrentA: number
}

export interface RecipeParameters {
  id: string
  /** Air temperature at board level each zone is meant to hold; the set-points follow from it. */
  zoneTemperaturesC: number[]
  speedMmS: number
  boardIntervalS: number
  boardHeatCapacityJPerK: number
  /** Time constant of the board in clean full flow. */
  boardTauS: number
  boardLengthMm: number
  /** Flux sprayed per board, g. */
  fluxPerBoardG: number
  jointCount: number
  potC: number
  pumpShare: number
}

export interface ConveyorParameters {
  chainPitchMm: number
  sprocketTeeth: number
  chainLoopMm: number
  fingerPitchMm: number
  speedSensor: 'chain' | 'motor'
  /** Share of the ideal chordal ripple that reaches the boards. */
  rippleShare: number
  /** sd of the 1 s mean from other causes, share of the speed. */
  noiseShare: number
  normalForceN: number
  /** Current of the idling drive. */
  currentIdleA: number
  currentPerN: number
  /** Extra drag of the cold lubricant, N at ambient. */
  coldDragN: number
  /** Life of the lubricant film at working temperature, h. */
  lubricantLifeHours: number
  runsWhileIdle: boolean
}

export interface PotParameters {
  massKg: number
  surfaceAreaM2: number
  powerMaxW: number
  lossWPerK: number
  gainPerK: number
  integralTimeS: number
  dragPerBoardG: number
  drossKgPerHour: number
  levelSensor: 'float' | 'non-contact'
  levelNoiseMm: number
  levelQuantumMm: number
  /** Fall of the level when the pump fills duct and wave. */
  pumpDropMm: number
  feed: 'bars' | 'wire'
  barKg: number
  /** Level at which people add bars, mm to reference. */
  topUpAtMm: number
  night: 'hold' | 'off'
  nightC: number
  waveControl: 'fixed-speed' | 'height'
  pumpNominalPercent: number
}

export interface FluxerParameters {
  feed: 'pressure' | 'metered-pump'
  pressureBar: number
  solidsShare: number
  densityKgPerM3: number
  strokeTimeS: number
  fanWidthMm: number
  boardWidthMm: number
}

/** How the plant works: shifts, rhythm, habits of the people. */
export interface HabitParameters {
  /** 0 Sunday .. 6 Saturday. */
  workdays: number[]
  dayStartMinute: number
  dayEndMinute: number
  shiftsPerDay: number
  /** Zones are switched on this long before the day's start. */
  warmUpLeadMinutes: number
  batchOnS: number
  batchOffS: number
  intervalJitterS: number
  changeoversPerShift: [number, number]
  breakMinutes: number
  /** Short stops per shift (Poisson mean), minutes each. */
  stopsPerShift: number
  stopMinutes: number
  skimsPerShift: number
}

export interface SiteParameters {
  zones: ZoneParameters[]
  recipes: RecipeParameters[]
  conveyor: ConveyorParameters
  pot: PotParameters
  fluxer: FluxerParameters
  habits: HabitParameters
  ambientC: number
  ambientDailySwingC: number
  /** Mean-reverting draught common to all zones, share of the extraction loss. */
  draughtSd: number
  draughtCorrelationS: number
  temperatureQuantumC: number
  /** Distance from the end of the fluxer to the first zone. */
  fluxerGapMm: number
}

/** The reference line of the worked numbers: every value [ASM] unless a comment says otherwise. */
export function referenceSite(): SiteParameters {
  return {
    zones: [referenceZone(), referenceZone(), referenceZone()],
    recipes: [referenceRecipe()],
    conveyor: {
      chainPitchMm: 25.4,
      sprocketTeeth: 12,
      chainLoopMm: 12_000,
      fingerPitchMm: 50.8,
      speedSensor: 'chain',
      rippleShare: 0.3,
      noiseShare: 0.007, // 0.5-1 % on a chain encoder, 1 s mean [SIM 0.8 %]
      normalForceN: 440,
      currentIdleA: 0.62,
      currentPerN: 0.0025,
      coldDragN: 40, // current falls 5-15 % in the first 30-60 min
      lubricantLifeHours: 400,
      runsWhileIdle: true,
    },
    pot: {
      massKg: 400,
      surfaceAreaM2: 0.27,
      powerMaxW: 11_000,
      lossWPerK: 15,
      gainPerK: 0.05,
      integralTimeS: 900, // closed loop 3-10 min
      dragPerBoardG: 10,
      drossKgPerHour: 0.8, // 0.3-2 in air [ASM, S4, S5]
      levelSensor: 'non-contact',
      levelNoiseMm: 0.3,
      levelQuantumMm: 0.5,
      pumpDropMm: 2,
      feed: 'bars',
      barKg: 5,
      topUpAtMm: -3,
      night: 'hold',
      nightC: 240,
      waveControl: 'fixed-speed',
      pumpNominalPercent: 60,
    },
    fluxer: { feed: 'pressure', pressureBar: 0.6, solidsShare: 0.03, densityKgPerM3: 800, strokeTimeS: 0.6, fanWidthMm: 30, boardWidthMm: 200 },
    habits: {
      workdays: [1, 2, 3, 4, 5],
      dayStartMinute: 6 * 60,
      dayEndMinute: 22 * 60,
      shiftsPerDay: 2,
      warmUpLeadMinutes: 45,
      batchOnS: 420,
      batchOffS: 180,
      intervalJitterS: 0.2,
      changeoversPerShift: [1, 3],
      breakMinutes: 20,
      stopsPerShift: 1.5,
      stopMinutes: 6,
      skimsPerShift: 1.5,
    },
    ambientC: 28,
    ambientDailySwingC: 2,
    draughtSd: 0.02,
    draughtCorrelationS: 600,
    temperatureQuantumC: 0.1,
    fluxerGapMm: 400,
  }
}

export function referenceZone(): ZoneParameters {
  return {
    kind: 'convection',
    thermocouple: 'board-air',
    blower: 'fixed-speed',
    lengthMm: 600,
    powerMaxW: 6000,
    heaterCapacityJPerK: 6000,
    airCapacityJPerK: 15_000,
    transferWPerK: 60,
    heaterLossWPerK: 6,
    airLossWPerK: 18,
    airFlowWPerK: 127, // chosen so that a flow of 0.8/0.6/0.4 with the sensor at the outlet lowers the zone by 4/11/20 °C [SIM]
    radiantShare: 0.3,
    sensorLagS: 4,
    sensorLagMaxS: 50,
    fouledStemShare: 0.02, // 1-4 °C low at 122 °C above ambient
    fouledRadiationC: 8, // 4 -> 12 °C above the air [SIM]
    sensorBiasC: 0,
    turbulenceSdC: 0.4,
    turbulenceCorrelationS: 4,
    gainPerK: 0.04,
    integralTimeS: 240,
    blowerCurrentA: 1.5,
  }
}

export function referenceRecipe(): RecipeParameters {
  return {
    id: 'recipe-a',
    zoneTemperaturesC: [110, 130, 150],
    speedMmS: 20,
    boardIntervalS: 30,
    boardHeatCapacityJPerK: 350,
    boardTauS: 60,
    boardLengthMm: 250,
    fluxPerBoardG: 4.17, // 2.5 g on the board at 60 % transfer [SIM]
    jointCount: 300,
    potC: 260, // 255-265 lead-free [MEM]
    pumpShare: 1,
  }
}
