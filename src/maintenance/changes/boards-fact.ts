import type { FactMark } from '../maintenance-fact.js'

/** Boards of one stretch of time, of one recipe, lot and order: what quality asks for after an onset. */
export interface BoardsFact extends FactMark {
  readonly type: 'boards'
  readonly fromMs: number
  readonly untilMs: number
  readonly boards: number
  readonly recipe: string
  readonly lot?: string
  readonly order?: string
}
