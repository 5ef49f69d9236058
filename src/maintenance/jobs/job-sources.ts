import type { ChangeKind } from '../changes/change-entry.js'

/** What something that changed calls for; lots are a note by themselves. */
export const WORK_AFTER_CHANGE: Readonly<Partial<Record<ChangeKind, string>>> = {
  'long-stop': 'purge-nozzle',
  'nozzle-refitted': 'align-nozzle',
  jam: 'check-fingers-and-drive',
  'chain-refitted': 'run-empty-loops',
}

/** The first job for a check that was not in order; [CP]. What could be many things calls for none by itself. */
const WORK_OF_CHECK: Readonly<Record<string, string>> = {
  'exhaust-and-guards': 'check-guards',
  'look-at-nozzle-tip': 'clean-nozzle',
  'purge-nozzle': 'clean-nozzle',
  'paper-test': 'clean-nozzle',
  'weigh-dose': 'calibrate-dosing',
  'look-for-wet-chain': 'set-spray-stroke',
  'pressure-hold': 'replace-seals',
  'look-at-exhaust-filter': 'swap-exhaust-filter',
  'look-at-flux-hose': 'replace-flux-hose',
  'look-at-emitters': 'clean-emitters',
  'look-at-vents': 'clean-vents',
  'look-at-blower': 'clean-blower',
  'look-at-thermocouple': 'clean-thermocouple',
  'look-at-rails': 'clean-rails',
  'look-at-chain': 'clean-chain',
  'chain-length': 'replace-chain-and-sprockets',
  'look-at-sprockets': 'replace-chain-and-sprockets',
  'gauge-fingers': 'clean-fingers',
  'contact-time': 'clean-fingers',
  'touch-lubricant': 'lubricate-chain',
  'listen-to-bearings': 'replace-bearing',
  'compare-speed-under-load': 'repair-drive',
  'look-at-shaft': 'check-fingers-and-drive',
  'dip-stick': 'top-up-pot',
  'look-at-dross': 'skim-dross',
  'wave-gauge': 'skim-dross',
  'reference-probe': 'replace-pot-probe',
  'bath-analysis': 'sample-bath',
}

/** Checks of flux under pressure: at their worst finding flux runs out, and hot parts are near. */
const LEAK_CHECKS: readonly string[] = ['pressure-hold', 'look-at-flux-hose']
const WORST_FINDING = 4

/** Job for a check of a round that was not in order; undefined where several causes are as likely. */
export function workForException({ check, values }: { readonly check: string; readonly values: Readonly<Record<string, number | string>> }): string | undefined {
  if (LEAK_CHECKS.includes(check) && values['finding'] === WORST_FINDING) return 'stop-flux-leak'
  return Object.hasOwn(WORK_OF_CHECK, check) ? WORK_OF_CHECK[check] : undefined
}

/** Job after a change that is done with its check of the round: nobody does it twice. */
export const WORK_DONE_BY_CHECK: Readonly<Record<string, string>> = {
  'purge-nozzle': 'purge-nozzle',
  'paper-test': 'align-nozzle',
  'gauge-fingers': 'check-fingers-and-drive',
  'empty-loops': 'run-empty-loops',
}
