/** What a person saw when a check was done by hand. */
export interface HandCheckResult {
  readonly check: string
  readonly passed: boolean
  readonly timeMs: number
  readonly zone?: number
}

/** Checks by hand that show whether a job worked, by the jobs' own verification; ids of the diagnosis and of the rounds. [CP] */
const HAND_CHECKS: Readonly<Record<string, readonly string[]>> = {
  'clean-nozzle': ['paper-test', 'look-at-nozzle-tip', 'spray-weight'],
  'align-nozzle': ['paper-test', 'left-right-contact'],
  'replace-seals': ['pressure-hold'],
  'swap-exhaust-filter': ['look-at-exhaust-filter', 'filter-pressure'],
  'replace-flux-hose': ['look-at-flux-hose', 'paper-test'],
  'calibrate-dosing': ['weigh-dose', 'spray-weight', 'paper-test'],
  'set-spray-stroke': ['look-for-wet-chain', 'paper-test'],
  'clean-blower': ['look-at-blower'],
  'clean-emitters': ['look-at-emitters'],
  'clean-vents': ['look-at-vents'],
  'clean-thermocouple': ['look-at-thermocouple'],
  'replace-thermocouple': ['look-at-thermocouple', 'reference-probe'],
  'replace-element': ['measure-element-current', 'compare-warm-up'],
  'clean-rails': ['look-at-rails'],
  'clean-chain': ['look-at-chain', 'touch-lubricant', 'empty-loops'],
  'lubricate-chain': ['touch-lubricant', 'look-at-chain'],
  'clean-fingers': ['gauge-fingers', 'left-right-contact'],
  'replace-chain-and-sprockets': ['look-at-sprockets', 'chain-length', 'empty-loops'],
  'replace-bearing': ['listen-to-bearings'],
  'repair-drive': ['compare-speed-under-load'],
  'skim-dross': ['look-at-dross', 'dross-removed'],
  'strip-pump': ['wave-gauge', 'look-at-dross'],
  'replace-pot-probe': ['reference-probe'],
  'replace-pot-element': ['compare-pot-warm-up', 'measure-element-current'],
}

export function handChecksOf(work: string): readonly string[] {
  return HAND_CHECKS[work] ?? []
}
