/**
 * Causes the simulator can bring on. The simulator keeps its own list: it must not be made from the detector's tables.
 * `section` is where the cause sits; `growth` is the usual course of the severity; `zoned` causes sit in one preheat zone.
 */
export const SIMULATED_FAULTS = {
  'clogged-nozzle': { section: 'fluxer', growth: 'deposit', zoned: false },
  'misoriented-nozzle': { section: 'fluxer', growth: 'step', zoned: false },
  'leaking-seal': { section: 'fluxer', growth: 'wear', zoned: false },
  'saturated-filter': { section: 'fluxer', growth: 'deposit', zoned: false },
  'bad-flux-hose': { section: 'fluxer', growth: 'deposit', zoned: false },
  'dosing-off': { section: 'fluxer', growth: 'linear', zoned: false },
  'stroke-too-wide': { section: 'fluxer', growth: 'step', zoned: false },
  'clogged-blower': { section: 'preheat', growth: 'deposit', zoned: true },
  'coated-emitter': { section: 'preheat', growth: 'deposit', zoned: true },
  'blocked-vents': { section: 'preheat', growth: 'deposit', zoned: true },
  'coated-thermocouple': { section: 'preheat', growth: 'deposit', zoned: true },
  'dirty-rails': { section: 'transport', growth: 'deposit', zoned: false },
  'dirty-chain': { section: 'transport', growth: 'deposit', zoned: false },
  'dry-chain': { section: 'transport', growth: 'linear', zoned: false },
  'sticky-grease': { section: 'transport', growth: 'linear', zoned: false },
  'residue-on-fingers': { section: 'transport', growth: 'deposit', zoned: false },
  'worn-sprocket': { section: 'transport', growth: 'wear', zoned: false },
  'worn-bearing': { section: 'transport', growth: 'wear', zoned: false },
  'worn-drive': { section: 'transport', growth: 'wear', zoned: false },
  'low-level': { section: 'pot', growth: 'linear', zoned: false },
  'dross-at-intake': { section: 'pot', growth: 'deposit', zoned: false },
  'drifting-pot-probe': { section: 'pot', growth: 'wear', zoned: false },
  /** With a zone: that zone's element; without: the pot's. */
  'ageing-element': { section: 'preheat', growth: 'wear', zoned: true },
} as const satisfies Record<string, { section: SimulatedSection; growth: GrowthShape; zoned: boolean }>

/**
 * Course of a severity from its onset: `deposit` follows 1 - exp(-ln2 (m/m50)^1.5), `wear` the square of the hours,
 * `linear` the hours, `step` is there at once.
 */
export type GrowthShape = 'deposit' | 'wear' | 'linear' | 'step'
export type SimulatedSection = 'fluxer' | 'preheat' | 'transport' | 'pot'
export type SimulatedFault = keyof typeof SIMULATED_FAULTS

/** Where a cause sits; an ageing element without a zone is the pot's. */
export function sectionOfFault(cause: SimulatedFault, zone: number | undefined): SimulatedSection {
  return cause === 'ageing-element' && zone === undefined ? 'pot' : SIMULATED_FAULTS[cause].section
}

export function isSimulatedFault(cause: string): cause is SimulatedFault {
  return Object.hasOwn(SIMULATED_FAULTS, cause)
}

/** Wear and drift end only with their own repair; no cleaning helps (process knowledge, common practice, no source). */
export const REPAIR_ONLY_FAULTS: ReadonlySet<SimulatedFault> = new Set<SimulatedFault>([
  'misoriented-nozzle', 'leaking-seal', 'dosing-off', 'stroke-too-wide', 'worn-sprocket', 'worn-bearing', 'worn-drive', 'drifting-pot-probe', 'ageing-element',
])
