import { FAULT_IDS, type FaultId } from '../causes.js'
import type { LineDefinition } from '../line-definition.js'
import { GROUP_FAMILIES } from './cause-groups.js'
import { DEFAULT_LIKELIHOODS, outcomesOf, type LikelihoodTable, type SiteFound } from './likelihoods.js'

/** What people found of the suggestions of one cause or group. */
export interface CauseFindings {
  readonly confirmed?: number
  readonly somethingElse?: number
  readonly nothingFound?: number
  /** Suggestions of other causes at whose check nothing was found though this one had some weight: the sum of those weights. */
  readonly ruledOut?: number
  /** Of the confirmed cases, by feature pattern: how often it had moved or stayed quiet. */
  readonly features: Readonly<Record<string, { readonly up: number; readonly down: number; readonly quiet: number }>>
}

/** By cause, or by group where a group was suggested. */
export type SiteFindings = Readonly<Record<string, CauseFindings>>

/** Cases the table's own chances are worth: of the 4 to 8 usual, so that a site overrules it after a handful. */
export const PSEUDO_COUNT = 6
/** Share of the suggestions that are found right where nothing is known yet. [ASM] */
const RIGHT_SHARE = 2 / 3
/** What people found moves a cause's prior odds within a fifth and the double, as its work history does. [ASM] */
const ODDS_MIN = 0.2
const ODDS_MAX = 2

/**
 * The site's own likelihoods: the table's chances as Beta pseudo-counts, updated by the cases people confirmed, and prior
 * odds from how often each cause was found right, found to be something else, or nothing was found. What was found of a
 * group counts for the odds of all its family, but teaches nothing of its members' features; chances a site has set itself
 * are taken as the start.
 *
 * @param findings counts from closed suggestions, e.g. the desk's feedback
 * @returns a table to pass to `diagnose`
 */
export function learnedTable(definition: LineDefinition, findings: SiteFindings, table: LikelihoodTable = DEFAULT_LIKELIHOODS): LikelihoodTable {
  const own: Record<string, { up: number; down: number }> = { ...table.own }
  const found: Record<string, SiteFound> = {}
  for (const fault of FAULT_IDS) {
    const features = Object.hasOwn(findings, fault) ? findings[fault]!.features : {}
    for (const [pattern, counts] of Object.entries(features)) own[`${fault} ${pattern}`] = learned(fault, pattern, counts, definition, table)
    const known = foundOf(fault, findings)
    if (known !== undefined) found[fault] = known
  }
  return Object.keys(found).length === 0 ? { ...table, own } : { ...table, own, found }
}

function foundOf(fault: FaultId, findings: SiteFindings): SiteFound | undefined {
  const names = [fault, ...Object.keys(GROUP_FAMILIES).filter((group) => GROUP_FAMILIES[group]!.includes(fault))]
  const known = names.flatMap((name) => (Object.hasOwn(findings, name) ? [findings[name]!] : []))
  const sum = (count: (one: CauseFindings) => number | undefined): number => known.reduce((total, one) => total + (count(one) ?? 0), 0)
  const confirmed = sum((one) => one.confirmed)
  const somethingElse = sum((one) => one.somethingElse)
  const nothingFound = sum((one) => one.nothingFound)
  const wrong = somethingElse + nothingFound + sum((one) => one.ruledOut)
  if (confirmed + wrong === 0) return undefined
  const right = PSEUDO_COUNT * RIGHT_SHARE
  const odds = (right + confirmed) / (PSEUDO_COUNT - right + wrong) / (RIGHT_SHARE / (1 - RIGHT_SHARE))
  return { confirmed, somethingElse, nothingFound, odds: Math.min(ODDS_MAX, Math.max(ODDS_MIN, odds)) }
}

function learned(fault: FaultId, pattern: string, { up, down, quiet }: { up: number; down: number; quiet: number }, definition: LineDefinition, table: LikelihoodTable): { up: number; down: number } {
  // The table's chance for a pattern: that of the first zone, as a site's confirmed cases are pooled over zones.
  const start = outcomesOf(fault, pattern.replace('<n>', '1').replace('<kind>', 'skip'), definition, table)
  const total = PSEUDO_COUNT + up + down + quiet
  return { up: (PSEUDO_COUNT * start.up + up) / total, down: (PSEUDO_COUNT * start.down + down) / total }
}
