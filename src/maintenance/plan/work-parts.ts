import type { MinutesRange } from '../work-catalogue.js'
import type { StockItem } from './plan-entry.js'

/** What a job takes from stock. */
export interface WorkStock {
  /** A set that can be swapped in, and how long the line then stands. */
  readonly spareSet?: { readonly item: StockItem; readonly minutes: MinutesRange }
  /** Parts without which the job cannot be done. */
  readonly parts?: readonly StockItem[]
}

/** Common practice, no source: spare sets turn 60 to 120 min of line stop into 10 to 20; a chain's refit takes 60 to 90. */
export const WORK_STOCK: Readonly<Record<string, WorkStock>> = {
  'clean-nozzle': { spareSet: { item: 'nozzle-tip', minutes: [10, 20] } },
  'replace-seals': { parts: ['seal-kit'] },
  'swap-exhaust-filter': { spareSet: { item: 'exhaust-filter-set', minutes: [10, 20] } },
  'replace-flux-hose': { parts: ['flux-hose'] },
  'clean-vents': { spareSet: { item: 'vent-plate-set', minutes: [10, 20] } },
  'replace-thermocouple': { parts: ['thermocouple'] },
  'replace-element': { parts: ['heating-element'] },
  'clean-chain': { spareSet: { item: 'chain-set', minutes: [60, 90] } },
  'lubricate-chain': { parts: ['chain-lubricant'] },
  'clean-fingers': { spareSet: { item: 'finger-set', minutes: [10, 20] } },
  'replace-chain-and-sprockets': { parts: ['chain-set', 'sprocket-set'] },
  'replace-bearing': { parts: ['bearing'] },
  'top-up-pot': { parts: ['solder-bars'] },
  'replace-pot-probe': { parts: ['pot-probe'] },
  'replace-pot-element': { parts: ['pot-element'] },
}
