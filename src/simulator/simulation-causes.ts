/**
 * Causes the simulator can bring on. The simulator keeps its own list: it must not be made from the detector's tables.
 * `growth` is the usual course of the severity; `zoned` causes sit in one preheat zone.
 */
export const SIMULATED_FAULTS = {
  'clogged-nozzle': { growth: 'deposit', zoned: false },
  'misoriented-nozzle': { growth: 'step', zoned: false },
  'leaking-seal': { growth: 'wear', zoned: false },
  'saturated-filter': { growth: 'deposit', zoned: false },
  'bad-flux-hose': { growth: 'deposit', zoned: false },
  'dosing-off': { growth: 'linear', zoned: false },
  'stroke-too-wide': { growth: 'step', zoned: false },
  'clogged-blower': { growth: 'deposit', zoned: true },
  'coated-emitter': { growth: 'deposit', zoned: true },
  'blocked-vents': { growth: 'deposit', zoned: true },
  'coated-thermocouple': { growth: 'deposit', zoned: true },
  'dirty-rails': { growth: 'deposit', zoned: false },
  'dirty-chain': { growth: 'deposit', zoned: false },
  'dry-chain': { growth: 'linear', zoned: false },
  'sticky-grease': { growth: 'linear', zoned: false },
  'residue-on-fingers': { growth: 'deposit', zoned: false },
  'worn-sprocket': { growth: 'wear', zoned: false },
  'worn-bearing': { growth: 'wear', zoned: false },
  'worn-drive': { growth: 'wear', zoned: false },
  'low-level': { growth: 'linear', zoned: false },
  'dross-at-intake': { growth: 'deposit', zoned: false },
  'drifting-pot-probe': { growth: 'wear', zoned: false },
  /** With a zone: that zone's element; without: the pot's. */
  'ageing-element': { growth: 'wear', zoned: true },
} as const satisfies Record<string, { growth: GrowthShape; zoned: boolean }>

/**
 * Course of a severity from its onset: `deposit` follows 1 - exp(-ln2 (m/m50)^1.5), `wear` the square of the hours,
 * `linear` the hours, `step` is there at once.
 */
export type GrowthShape = 'deposit' | 'wear' | 'linear' | 'step'
export type SimulatedFault = keyof typeof SIMULATED_FAULTS

export function isSimulatedFault(cause: string): cause is SimulatedFault {
  return Object.hasOwn(SIMULATED_FAULTS, cause)
}

/** Wear and drift end only with their own repair; no cleaning helps (process knowledge, common practice, no source). */
export const REPAIR_ONLY_FAULTS: ReadonlySet<SimulatedFault> = new Set<SimulatedFault>([
  'misoriented-nozzle', 'leaking-seal', 'dosing-off', 'stroke-too-wide', 'worn-sprocket', 'worn-bearing', 'worn-drive', 'drifting-pot-probe', 'ageing-element',
])
