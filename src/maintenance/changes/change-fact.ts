import type { Section } from '../../line/feature-value.js'
import type { FactMark } from '../maintenance-fact.js'
import type { ChangeKind } from './change-entry.js'

/** Something that changed at the line, from people or from its channels. */
export interface ChangeFact extends FactMark {
  readonly type: 'change'
  readonly change: ChangeKind
  readonly source: 'entry' | 'channel' | 'record'
  readonly section?: Section
  readonly text?: string
  readonly zone?: number
  readonly channel?: string
  readonly from?: number | string
  readonly to?: number | string
  readonly by?: string
  /** Work catalogue id, where work was the change. */
  readonly work?: string
  /** Length of a stop, min. */
  readonly minutes?: number
  /** Work to look at up the line: what makes a section foul faster than its own history. */
  readonly upstream?: readonly string[]
  /** The record it rests on was taken back. */
  readonly withdrawn?: boolean
}
