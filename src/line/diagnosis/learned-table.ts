import { FAULT_IDS, type FaultId } from '../causes.js'
import type { LineDefinition } from '../line-definition.js'
import { DEFAULT_LIKELIHOODS, outcomesOf, type LikelihoodTable } from './likelihoods.js'

/** What people confirmed, by cause: of the confirmed cases, how often each feature pattern had moved or stayed quiet. */
export type ConfirmedCases = Readonly<Record<string, { readonly features: Readonly<Record<string, { readonly up: number; readonly down: number; readonly quiet: number }>> }>>

/** Cases the table's own chances are worth: of the 4 to 8 usual, so that a site overrules it after a handful. */
export const PSEUDO_COUNT = 6

/**
 * The site's own likelihoods: the table's chances as Beta pseudo-counts, updated by the cases people confirmed. Groups
 * teach nothing of their members; chances a site has set itself are taken as the start.
 *
 * @param confirmed counts from closed suggestions, e.g. the desk's feedback
 * @returns a table to pass to `diagnose`
 */
export function learnedTable(definition: LineDefinition, confirmed: ConfirmedCases, table: LikelihoodTable = DEFAULT_LIKELIHOODS): LikelihoodTable {
  const own: Record<string, { up: number; down: number }> = { ...table.own }
  for (const fault of FAULT_IDS) {
    const features = Object.hasOwn(confirmed, fault) ? confirmed[fault]!.features : {}
    for (const [pattern, counts] of Object.entries(features)) own[`${fault} ${pattern}`] = learned(fault, pattern, counts, definition, table)
  }
  return { ...table, own }
}

function learned(fault: FaultId, pattern: string, { up, down, quiet }: { up: number; down: number; quiet: number }, definition: LineDefinition, table: LikelihoodTable): { up: number; down: number } {
  // The table's chance for a pattern: that of the first zone, as a site's confirmed cases are pooled over zones.
  const start = outcomesOf(fault, pattern.replace('<n>', '1').replace('<kind>', 'skip'), definition, table)
  const total = PSEUDO_COUNT + up + down + quiet
  return { up: (PSEUDO_COUNT * start.up + up) / total, down: (PSEUDO_COUNT * start.down + down) / total }
}
