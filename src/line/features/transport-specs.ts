import type { LineDefinition } from '../line-definition.js'
import type { DeclaredChannels } from './declared-channels.js'
import { featureSpec, HOUR_SLOTS, SLOT_S, UNREST_RELEVANT, type FeatureRefusal, type FeatureSpec, type SpecDetails } from './feature-spec.js'

/** A frequency is followed only below this share of the sampling frequency; half would be the bare limit. */
export const ALIAS_SHARE_MAX = 0.45
/** Speed at which the offer is judged before the line has run (reference line of the process knowledge [ASM]). */
const USUAL_SPEED_MM_S = 20
/** Speed, product and the oil of the last days make up to two thirds more unrest of motion and current by right; a dirty, dry or worn chain makes it two to ten times as large. [ASM] */
const MOTION_RELEVANT = 0.5
/** A jump lasts 0.5-3 s [ASM, B5.4]: with readings further apart than this it falls between them. */
export const JUMP_PERIOD_S_MAX = 10

/** A movement that repeats over a fixed length of chain. */
export interface SpeedLine {
  readonly feature: string
  readonly title: string
  readonly mechanism: string
  /** Length of chain after which it repeats, mm. */
  readonly lengthMm: number
  /** Slots of its window. */
  readonly slots: number
}

/** Lines the machine facts allow to look for; those the declared period would alias are refused. */
export function speedLines(definition: LineDefinition, channels: DeclaredChannels, refusals: FeatureRefusal[]): SpeedLine[] {
  const { chainPitchMm, sprocketTeeth, chainLoopM, fingerPitchMm } = definition.machine.conveyor
  const pitchMissing = 'machine.conveyor.chainPitchMm'
  const turnMm = chainPitchMm !== undefined && sprocketTeeth !== undefined ? chainPitchMm * sprocketTeeth : undefined
  const candidates = [
    { name: 'turn', lengthMm: turnMm, missing: `${pitchMissing} and sprocketTeeth`, title: 'once per sprocket turn', mechanism: 'sprocket-turn', slots: 1 },
    { name: 'tooth', lengthMm: chainPitchMm, missing: pitchMissing, title: 'once per sprocket tooth', mechanism: 'sprocket-tooth', slots: 1 },
    { name: 'loop', lengthMm: chainLoopM === undefined ? undefined : chainLoopM * 1000, missing: 'machine.conveyor.chainLoopM', title: 'once per chain loop', mechanism: 'chain-loop', slots: HOUR_SLOTS },
    { name: 'finger', lengthMm: fingerPitchMm, missing: 'machine.conveyor.fingerPitchMm', title: 'at every finger', mechanism: 'finger-pass', slots: 1 },
  ]
  if (!channels.has('conveyor.speed')) return []
  const periodS = channels.periodS('conveyor.speed')
  return candidates.flatMap(({ name, lengthMm, missing, title, mechanism, slots }) => {
    const feature = `conveyor.speed.${name}-line`
    if (lengthMm === undefined) {
      refusals.push({ feature, reason: `the length it repeats over is not known; give ${missing}` })
      return []
    }
    const frequencyHz = USUAL_SPEED_MM_S / lengthMm
    if (frequencyHz * periodS > ALIAS_SHARE_MAX) {
      refusals.push({ feature, reason: `conveyor.speed comes every ${periodS} s; at ${USUAL_SPEED_MM_S} mm/s this movement is at ${frequencyHz.toPrecision(3)} Hz and needs a reading at least every ${(ALIAS_SHARE_MAX / frequencyHz).toPrecision(2)} s, else it would show as another` })
      return []
    }
    const cycles = frequencyHz * slots * SLOT_S
    if (cycles < 3) {
      refusals.push({ feature, reason: `its window of ${(slots * SLOT_S) / 60} min holds ${cycles.toPrecision(2)} repeats at ${USUAL_SPEED_MM_S} mm/s; 3 are needed` })
      return []
    }
    return [{ feature, title: `Conveyor: change of speed ${title}`, mechanism, lengthMm, slots }]
  })
}

export function transportSpecs(definition: LineDefinition, channels: DeclaredChannels, refusals: FeatureRefusal[]): FeatureSpec[] {
  const specs: FeatureSpec[] = []
  if (channels.has('conveyor.speed')) specs.push(...speedSpecs(definition, channels, refusals))
  if (channels.has('conveyor.speed-sd')) {
    specs.push(featureSpec('conveyor.speed-sd.spread', transport(['conveyor.speed-sd', 'conveyor.speed'], {
      // stick-slip is worse at low speed: every recipe has another level
      unit: 'ln share', suspicious: 'up', mechanism: 'chain-motion', atUsualRecipe: 'difference', sigmaFloor: 0.05, relevant: MOTION_RELEVANT, title: "Conveyor: unrest of the speed within a second, from the drive's own sd",
    })))
  }
  if (channels.has('conveyor.speed-min') && channels.has('conveyor.speed-max')) {
    specs.push(featureSpec('conveyor.speed-range.spread', transport(['conveyor.speed-min', 'conveyor.speed-max', 'conveyor.speed'], {
      unit: 'ln share', suspicious: 'up', mechanism: 'chain-motion', atUsualRecipe: 'difference', sigmaFloor: 0.05, relevant: MOTION_RELEVANT, title: "Conveyor: range of the speed within a second, from the drive's own extremes",
    })))
  }
  if (channels.has('conveyor.current')) specs.push(...currentSpecs())
  return specs
}

function transport(channels: readonly string[], details: Omit<SpecDetails, 'section' | 'channels'>): SpecDetails {
  return { section: 'transport', channels, ...details }
}

function speedSpecs(definition: LineDefinition, channels: DeclaredChannels, refusals: FeatureRefusal[]): FeatureSpec[] {
  const speed = ['conveyor.speed']
  const periodS = channels.periodS('conveyor.speed')
  const specs = [
    featureSpec('conveyor.speed.offset', transport(speed, {
      unit: 'share', suspicious: 'both', mechanism: 'chain-speed', perRecipe: !channels.isExplicit('conveyor.setpoint'), sigmaFloor: 0.001, title: 'Conveyor: mean speed off its set-point',
    })),
    featureSpec('conveyor.speed.spread', transport(speed, {
      // even beside the mean speed the unrest depends on it: orders and noise fall elsewhere at another speed; means of a second or more
      // see less of what comes by right and of what dirt makes
      unit: 'ln share', suspicious: 'up', mechanism: 'chain-motion', atUsualRecipe: 'difference', sigmaFloor: 0.05, relevant: UNREST_RELEVANT, title: 'Conveyor: unrest of the speed',
    })),
  ]
  if (periodS > JUMP_PERIOD_S_MAX) {
    refusals.push({ feature: 'conveyor.speed.jumps', reason: `conveyor.speed comes every ${periodS} s; a jump lasts 0.5 to 3 s and falls between readings more than ${JUMP_PERIOD_S_MAX} s apart` })
  } else {
    specs.push(featureSpec('conveyor.speed.jumps', transport(speed, {
      // stick-slip is worse at low speed: every recipe has its own level
      unit: 'count', chart: 'count', suspicious: 'up', mechanism: 'chain-motion', perRecipe: true, sigmaFloor: 0.2,
      title: periodS > 2 ? `Conveyor: jumps seen in readings ${periodS} s apart (most fall between)` : 'Conveyor: jumps',
    })))
  }
  if (periodS <= JUMP_PERIOD_S_MAX) {
    specs.push(featureSpec('conveyor.speed.cold-jumps', transport(speed, {
      unit: 'count', windowS: 3600, states: ['warm-up', 'settling', 'production', 'idle'], suspicious: 'up', mechanism: 'chain-motion', pointsPerWeek: 5,
      // a chain at rest jumps 0.1 times an hour [ASM]; counts scatter by the root of their mean, more where a start is shorter
      // and one or two in a start come and go
      sigmaFloor: 0.2, relevant: 2, standard: { sigma: 1, sigmaShare: 0.5, centreValues: 3 }, toldByOne: true, title: 'Conveyor: jumps in the first hour after a long stop',
    })))
  }
  for (const line of speedLines(definition, channels, refusals)) {
    specs.push(featureSpec(line.feature, transport(speed, {
      unit: 'ln ratio', windowS: line.slots * SLOT_S, suspicious: 'up', mechanism: line.mechanism, perRecipe: true, sigmaFloor: 0.08, title: line.title,
    })))
  }
  return specs
}

/** Warmth, mains and the oil's ordinary ageing move the drive's current by a percent or two; a dirty or dry chain takes a sixth more. [ASM] */
const DRAG_RELEVANT = 0.05

function currentSpecs(): FeatureSpec[] {
  const current = ['conveyor.current']
  return [
    featureSpec('conveyor.current.warm', transport(current, {
      unit: 'A', suspicious: 'up', mechanism: 'chain-drag', atUsualRecipe: 'ratio', sigmaFloor: 0.004, relevantShare: DRAG_RELEVANT, title: 'Conveyor: motor current when warm',
    })),
    featureSpec('conveyor.current.cold', transport([...current, 'conveyor.speed'], {
      unit: 'A', windowS: 1200, states: ['warm-up', 'settling', 'production', 'idle'], suspicious: 'up', mechanism: 'chain-drag', pointsPerWeek: 5,
      sigmaFloor: 0.008, relevantShare: DRAG_RELEVANT, title: 'Conveyor: motor current in the first 20 min after a stop',
    })),
    featureSpec('conveyor.current.spread', transport(current, {
      unit: 'ln share', suspicious: 'up', mechanism: 'drag-unrest', atUsualRecipe: 'difference', sigmaFloor: 0.05, relevant: MOTION_RELEVANT, title: 'Conveyor: unrest of the motor current',
    })),
  ]
}
