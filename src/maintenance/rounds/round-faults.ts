import { HAND_VALUES } from '../../line/hand-values.js'
import type { LineDefinition } from '../../line/line-definition.js'
import { CAUTION_IDS } from '../work-catalogue-data-facts.js'
import { ROUND_CHECKS } from './round-catalogue.js'

/** A fault of what a site changes at its rounds: where, e.g. `rounds.off[0]`, and what was expected. */
export interface RoundsFault {
  readonly path: string
  readonly message: string
}

/** Names that no check, value or caution has: a misspelt one would be ignored, and a caution would be lost. */
export function roundsFaults({ rounds }: Pick<LineDefinition, 'rounds'>): readonly RoundsFault[] {
  if (rounds === undefined) return []
  const checks = ROUND_CHECKS.map(({ check }) => check)
  const faults: RoundsFault[] = []
  const known = (path: string, name: string, expected: readonly string[]): void => {
    if (!expected.includes(name)) faults.push({ path: `rounds.${path}`, message: `"${name}" is not known; expected one of ${expected.join(', ')}` })
  }
  rounds.off.forEach((check, index) => known(`off[${index}]`, check, checks))
  for (const check of Object.keys(rounds.every)) known(`every.${check}`, check, checks)
  for (const value of Object.keys(rounds.values)) known(`values.${value}`, value, HAND_VALUES.map((hand) => `${hand.check}.${hand.value}`))
  rounds.own.forEach(({ check, cautions, values }, index) => {
    const at = `own[${index}]`
    if (checks.includes(check) || rounds.own.findIndex((other) => other.check === check) !== index) faults.push({ path: `rounds.${at}.check`, message: `"${check}" is there already` })
    cautions.forEach((caution, place) => known(`${at}.cautions[${place}]`, caution, CAUTION_IDS))
    values.forEach(({ value }, place) => {
      if (values.findIndex((other) => other.value === value) !== place) faults.push({ path: `rounds.${at}.values[${place}]`, message: `"${value}" is there twice` })
    })
  })
  return faults
}
