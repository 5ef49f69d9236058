import type { LineDefinition } from '../line/line-definition.js'
import type { Side } from '../spc/chart-point.js'

/** The level at which somebody has to act. */
export interface FeatureLimit {
  readonly value: number
  /** From the line's definition, or from what is known of the process. */
  readonly source: 'definition' | 'process'
}

/** Usual alarm below the level a pot is kept at, mm (alarm at -8 to -12 mm) [CP]. */
const USUAL_ALARM_MM = 10
/** From this duty on a controller counts as at its stop: it can give no more. */
export const DUTY_STOP_PERCENT = 95

/**
 * The limit a feature moves towards on a side; undefined where the definition sets none and none is known.
 *
 * @param now.level present level in the feature's unit
 * @param now.centre level learned as normal
 * @param now.dutyPercent mean duty of the feature's heater lately; 0 where it is not known
 */
export function featureLimit(definition: LineDefinition, feature: string, side: Side, now: { readonly level: number; readonly centre: number; readonly dutyPercent: number }): FeatureLimit | undefined {
  const action = definition.featureLimits?.[feature]?.action
  const own = side === 'above' ? action?.upper : action?.lower
  if (own !== undefined) return { value: own, source: 'definition' }
  if (feature === 'pot.level.offset' && side === 'below') return { value: definition.machine.pot.levelAlarmMm ?? now.centre - USUAL_ALARM_MM, source: 'process' }
  // The effort goes with the duty at the same set-point: when the duty reaches its stop, the effort can grow no more.
  if (feature.endsWith('.duty.effort') && side === 'above' && now.dutyPercent > 0 && now.level > 0) return { value: (now.level * DUTY_STOP_PERCENT) / now.dutyPercent, source: 'process' }
  return undefined
}
