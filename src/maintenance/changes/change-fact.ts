import type { FactMark } from '../maintenance-fact.js'
import type { ChangeKind } from './change-entry.js'

/** Something that changed at the line, from people or from its channels. */
export interface ChangeFact extends FactMark {
  readonly type: 'change'
  readonly change: ChangeKind
  readonly source: 'entry' | 'channel'
  readonly text?: string
  readonly zone?: number
  readonly channel?: string
  readonly from?: number | string
  readonly to?: number | string
  readonly by?: string
}
