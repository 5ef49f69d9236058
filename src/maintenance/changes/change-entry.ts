import type { EntryMark } from '../maintenance-entry.js'

export const CHANGE_KINDS = ['flux-lot', 'alloy-lot', 'lubricant-lot', 'cleaner-lot', 'board-lot', 'order', 'spare-part', 'crew', 'recipe', 'set-point', 'exhaust-work', 'repair', 'nozzle-refitted', 'chain-refitted', 'jam', 'long-stop', 'sensor-replaced', 'sensor-frozen', 'top-up', 'work', 'fouls-faster', 'other'] as const
export type ChangeKind = (typeof CHANGE_KINDS)[number]

/** Something that changed at the line, as people enter it. */
export interface ChangeEntry extends EntryMark {
  readonly type: 'change'
  readonly change: ChangeKind
  /** Lot, order, part or setting, in words. */
  readonly text?: string
  readonly zone?: number
}
