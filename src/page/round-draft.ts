import type { RoundCheckView, RoundItemBody, RoundValueView } from './round-client.js'

/** What a person has put in for one check so far. */
export interface CheckDraft {
  /** Texts of the number fields. */
  readonly values: Readonly<Record<string, string>>
  readonly finding?: number
  readonly notInOrder: boolean
  readonly zone?: number
  readonly remark: string
}

export const EMPTY_DRAFT: CheckDraft = { values: {}, notInOrder: false, remark: '' }
/** A look that is told as bad is an exception. */
const BAD_FINDING = 4

/** A number as people write it, with a comma or a point; undefined for anything else. */
export function numberOf(text: string): number | undefined {
  const trimmed = text.trim().replace(',', '.')
  if (!/^-?\d+(\.\d+)?$|^-?\.\d+$/.test(trimmed)) return undefined
  return Number(trimmed)
}

export type FieldState = 'empty' | 'no-number' | 'not-possible' | 'outside' | 'inside'

/** What is to be said of a number field. */
export function fieldState(text: string, { possibleMin, possibleMax, lower, upper }: RoundValueView): FieldState {
  if (text.trim() === '') return 'empty'
  const value = numberOf(text)
  if (value === undefined) return 'no-number'
  if (value < possibleMin || value > possibleMax) return 'not-possible'
  return (lower !== undefined && value < lower) || (upper !== undefined && value > upper) ? 'outside' : 'inside'
}

/** Whether nothing in the fields stands against sending. */
export function isSound(check: RoundCheckView, draft: CheckDraft): boolean {
  return check.values.every((value) => !['no-number', 'not-possible'].includes(fieldState(draft.values[value.value] ?? '', value)))
}

/** Whether the check has what "in order" asks for this time. */
export function isAnswered(check: RoundCheckView, draft: CheckDraft): boolean {
  if (draft.notInOrder) return true
  const hasValue = Object.values(draft.values).some((text) => numberOf(text) !== undefined)
  if (check.asks === 'value') return hasValue
  return check.asks === 'nothing' || hasValue || draft.finding !== undefined || draft.remark.trim() !== ''
}

/** The item as the service takes it. */
export function itemOf(check: RoundCheckView, draft: CheckDraft): RoundItemBody {
  const values = Object.fromEntries(Object.entries(draft.values).flatMap(([name, text]) => (numberOf(text) === undefined ? [] : [[name, numberOf(text)!]])))
  const remark = draft.remark.trim()
  return {
    check: check.check,
    ok: !draft.notInOrder && (draft.finding ?? 0) < BAD_FINDING,
    ...(Object.keys(values).length === 0 ? {} : { values }),
    ...(draft.finding === undefined ? {} : { finding: draft.finding }),
    ...(draft.zone === undefined ? {} : { zone: draft.zone }),
    ...(remark === '' ? {} : { remark }),
  }
}

const isOpen = ({ status }: RoundCheckView): boolean => status === 'due' || status === 'overdue'
const ofStart = ({ event }: RoundCheckView): boolean => event === 'start-up'

/** Checks of the round that is walked now: those of the shift, and what an event asks for. A start has its own short list. */
export function isOfThisRound(check: RoundCheckView): boolean {
  return isOpen(check) && !ofStart(check) && (check.every === 'shift' || check.event !== undefined)
}

/** Due once today, in whichever shift. */
export function isOfToday(check: RoundCheckView): boolean {
  return isOpen(check) && !ofStart(check) && !isOfThisRound(check) && check.every === 'day'
}

/** Due less often than daily: done when there is time in the week or month. */
export function isLonger(check: RoundCheckView): boolean {
  return isOpen(check) && !ofStart(check) && !isOfThisRound(check) && !isOfToday(check)
}

/** The short list of a start. */
export function isOfStart(check: RoundCheckView): boolean {
  return isOpen(check) && ofStart(check)
}
