import type { Section } from '../../line/feature-value.js'
import type { EntryMark } from '../maintenance-entry.js'

/** A job with its place in a stop; times ms UTC. */
export interface AgreedJob {
  /** Work catalogue id. */
  readonly work: string
  readonly section: Exclude<Section, 'line'>
  readonly zone?: number
  readonly fromMs: number
  readonly untilMs: number
  readonly people: number
}

/** One stop of one line as it was agreed; times ms UTC. */
export interface AgreedStop {
  readonly id: string
  readonly fromMs: number
  readonly untilMs: number
  readonly shift: string
  /** People needed at once. */
  readonly people: number
  readonly jobs: readonly AgreedJob[]
}

/** The crew and production agree on the stops of a week, or open it again. */
export interface PlanEntry extends EntryMark {
  readonly type: 'plan'
  readonly action: 'agree' | 'reopen'
  /** ISO week, e.g. `2026-W48`. */
  readonly week: string
  readonly stops: readonly AgreedStop[]
  /** Why an agreed week is opened again. */
  readonly reason?: string
}

/** Asking for a stop, the answer, and what followed: the ledger of stops. */
export interface StopEntry extends EntryMark {
  readonly type: 'stop'
  readonly action: 'ask' | 'grant' | 'refuse' | 'followed' | 'withdraw'
  /** Id of the stop; for `ask` made from the entry where it is absent. */
  readonly stop?: string
  readonly fromMs?: number
  readonly minutes?: number
  readonly people?: number
  /** Work catalogue ids that the stop is for. */
  readonly work?: readonly string[]
  readonly section?: Exclude<Section, 'line'>
  /** Why it was refused or withdrawn. */
  readonly reason?: string
  /** For `followed`: what happened after the answer, counted by people. */
  readonly followed?: StopConsequence
}

/** What followed a stop that was granted or refused; counts and durations only, money comes from the site's figures. */
export interface StopConsequence {
  /** What it was, in words. */
  readonly text?: string
  /** Whether the line stood by plan or by failure. */
  readonly stopKind?: 'planned' | 'unplanned'
  readonly stopMinutes?: number
  readonly boardsScrapped?: number
  readonly boardsNotMade?: number
  readonly ordersLate?: number
  /** Damage to other parts, in the site's currency as invoiced. */
  readonly secondaryDamage?: number
  readonly section?: Exclude<Section, 'line'>
}

/** Spare sets and parts that can be in stock; a set goes from clean to dirty, to the washer and back. */
export const STOCK_ITEMS = ['exhaust-filter-set', 'finger-set', 'vent-plate-set', 'chain-set', 'nozzle-tip', 'seal-kit', 'flux-hose', 'thermocouple', 'pot-probe', 'heating-element', 'pot-element', 'bearing', 'sprocket-set', 'solder-bars', 'chain-lubricant', 'cleaner'] as const
export type StockItem = (typeof STOCK_ITEMS)[number]

/** What is in stock now: a count, which replaces what was known, or sets that go to the washer or come back clean. */
export interface StockEntry extends EntryMark {
  readonly type: 'stock'
  readonly item: StockItem
  /** Ready for use: clean sets, parts on the shelf. Needed for a count. */
  readonly ready?: number
  readonly dirty?: number
  readonly atWasher?: number
  readonly move?: (typeof STOCK_MOVES)[number]
  /** How many are moved; one where it is absent. */
  readonly count?: number
}

export const STOCK_MOVES = ['to-washer', 'back-clean'] as const

export const PAPER_KINDS = ['instruction', 'calibration', 'qualification'] as const
export const INSTRUMENTS = ['reference-probe', 'scale', 'filter-gauge', 'finger-gauge', 'thermometer', 'clamp-meter'] as const

/** A document an audit asks for: instruction in force, calibration of an instrument, qualification for a job. */
export interface PaperEntry extends EntryMark {
  readonly type: 'paper'
  readonly paper: (typeof PAPER_KINDS)[number]
  /** Work catalogue id for an instruction or a qualification; instrument for a calibration. */
  readonly of: string
  /** Revision of the instruction, or number of the certificate. */
  readonly reference: string
  readonly validFromMs: number
  /** When it must be renewed; absent where it holds until replaced. */
  readonly dueMs?: number
  /** For a qualification: how many people hold it. */
  readonly people?: number
}
