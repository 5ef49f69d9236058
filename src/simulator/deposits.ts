import type { MaintenanceWorkKind } from './simulation-config.js'
import type { SimulatedFault } from './simulation-causes.js'

/** Severity of a deposit, 0-1, from its mass as a multiple of the mass that gives 0.5: 1 - exp(-ln2 (m/m50)^1.5). */
export function severityOfDeposit(massRatio: number): number {
  return massRatio <= 0 ? 0 : 1 - Math.exp(-Math.LN2 * massRatio ** 1.5)
}

/** Multiple of m50 that an episode's deposit has at its end; the severity is scaled to be exactly reached there. */
export const EPISODE_END_MASS_RATIO = 2.5

/** Where the residue goes: mg per board and the mass for severity 0.5, all [ASM]. `zoned`: per zone. */
export const DEPOSIT_PLACES: readonly { readonly cause: SimulatedFault; readonly mgPerBoard: number; readonly m50G: number }[] = [
  { cause: 'saturated-filter', mgPerBoard: 30, m50G: 1200 },
  { cause: 'dirty-chain', mgPerBoard: 4, m50G: 67 }, // fingers and chain share 6 mg/board and 100 g
  { cause: 'residue-on-fingers', mgPerBoard: 2, m50G: 33 },
  { cause: 'dirty-rails', mgPerBoard: 2, m50G: 40 },
  { cause: 'clogged-nozzle', mgPerBoard: 0.1, m50G: 0.6 },
  { cause: 'clogged-blower', mgPerBoard: 0.73, m50G: 60 },
  { cause: 'blocked-vents', mgPerBoard: 0.73, m50G: 40 },
  { cause: 'coated-emitter', mgPerBoard: 0.9, m50G: 35 },
  { cause: 'coated-thermocouple', mgPerBoard: 0.00025, m50G: 0.04 },
  { cause: 'dross-at-intake', mgPerBoard: 333, m50G: 6000 }, // 40 g/h at 120 boards/h, 5 % of the dross
]

/** Dry-out at the nozzle tip in every stop over 30 min, g [ASM]. */
export const NOZZLE_DRY_OUT_G = 0.05

/** Residue in the hot parts bakes with this time constant, h [ASM]. */
export const BAKING_HOURS = 200
const BAKED_CAUSES: ReadonlySet<SimulatedFault> = new Set<SimulatedFault>(['clogged-blower', 'blocked-vents', 'coated-emitter', 'coated-thermocouple', 'dirty-chain'])

/** What is left of fresh and of baked residue after a piece of work [ASM]. */
const CLEANING_LEAVES: Partial<Record<MaintenanceWorkKind, { readonly fresh: number; readonly baked: number }>> = {
  'full-clean': { fresh: 0.03, baked: 0.1 },
  wipe: { fresh: 0.4, baked: 0.95 },
  'solvent-wipe': { fresh: 0.3, baked: 0.7 },
  repair: { fresh: 0, baked: 0 },
  skim: { fresh: 0.4, baked: 1 },
}

/** A deposit at one place: fresh residue can be wiped, baked residue cannot. Masses in g or as a multiple of m50. */
export class Deposit {
  fresh = 0
  baked = 0

  constructor(private readonly bakes: boolean) {}

  static of(cause: SimulatedFault): Deposit {
    return new Deposit(BAKED_CAUSES.has(cause))
  }

  get mass(): number {
    return this.fresh + this.baked
  }

  add(mass: number): void {
    this.fresh += mass
  }

  bake(hotHours: number): void {
    if (!this.bakes || hotHours <= 0) return
    const moved = this.fresh * (1 - Math.exp(-hotHours / BAKING_HOURS))
    this.fresh -= moved
    this.baked += moved
  }

  clean(work: MaintenanceWorkKind): void {
    const leaves = CLEANING_LEAVES[work]
    if (leaves === undefined) return
    this.fresh *= leaves.fresh
    this.baked *= leaves.baked
  }
}
