import type { BoardsFact } from './boards-fact.js'

/** A stretch is closed after an hour, so that boards since an onset are known to the hour. */
const STRETCH_MS = 3_600_000
/** A counter that jumps further than this at once was set, not counted. */
const STEP_MAX = 1000

/** Plain JSON. */
export interface BoardLedgerState {
  count: number
  isCounted: boolean
  lot: string
  order: string
  recipe: string
  open: { fromMs: number; untilMs: number; boards: number; told: number } | null
}

export function createBoardLedger(): BoardLedgerState {
  return { count: 0, isCounted: false, lot: '', order: '', recipe: '', open: null }
}

/** Takes a reading of the board counter. */
export function noteBoards(ledger: BoardLedgerState, count: number, timeMs: number, tell: (fact: BoardsFact) => void): void {
  const step = !ledger.isCounted ? 0 : count >= ledger.count ? count - ledger.count : count
  ledger.count = count
  ledger.isCounted = true
  if (step === 0 || step > STEP_MAX) return
  if (ledger.open !== null && (timeMs - ledger.open.fromMs >= STRETCH_MS || timeMs < ledger.open.fromMs)) closeStretch(ledger, tell)
  ledger.open ??= { fromMs: timeMs, untilMs: timeMs, boards: 0, told: 0 }
  ledger.open.boards += step
  ledger.open.untilMs = timeMs
}

/** Another recipe, lot or order: what comes next is a stretch of its own. */
export function noteBoardKind(ledger: BoardLedgerState, kind: 'lot' | 'order' | 'recipe', value: string, tell: (fact: BoardsFact) => void): boolean {
  if (ledger[kind] === value) return false
  closeStretch(ledger, tell)
  ledger[kind] = value
  return true
}

/** Tells the open stretch as far as it has come. */
export function tellStretch(ledger: BoardLedgerState, tell: (fact: BoardsFact) => void): void {
  const { open, lot, order, recipe } = ledger
  if (open === null || open.told === open.boards) return
  open.told = open.boards
  tell({ type: 'boards', id: `boards-${open.fromMs}`, timeMs: open.untilMs, fromMs: open.fromMs, untilMs: open.untilMs, boards: open.boards, recipe, ...(lot === '' ? {} : { lot }), ...(order === '' ? {} : { order }) })
}

function closeStretch(ledger: BoardLedgerState, tell: (fact: BoardsFact) => void): void {
  tellStretch(ledger, tell)
  ledger.open = null
}
