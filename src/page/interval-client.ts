import { ask, at } from './api-client.js'
import type { Language } from './texts.js'

export interface IntervalView {
  readonly id: string
  readonly title: string
  readonly section: string
  readonly zone?: number
  readonly intervalText: string
  readonly startText: string
  readonly interval: number
  readonly scale: 'running-hours' | 'boards' | 'flux-g' | 'calendar-hours'
  readonly verdict: 'shorten' | 'keep' | 'may-lengthen' | 'use-condition' | 'not-enough-history'
  readonly words: string
  readonly safety: boolean
  readonly age: number
  readonly ageText: string
  readonly ageKnown: boolean
  readonly used: number
  readonly events: number
  readonly censored: number
  readonly rangeText?: string
  readonly sisters?: { readonly lines: number; readonly intervalText: string }
}

export interface IntervalCurves {
  readonly observed: readonly { readonly age: number; readonly share: number }[]
  readonly predicted: readonly { readonly age: number; readonly share: number }[]
  readonly cost: readonly { readonly age: number; readonly ratio: number }[]
  readonly life?: { readonly shape: number; readonly scale: number }
}

export interface ProofView {
  readonly id: string
  readonly record: string
  readonly title: string
  readonly section: string
  readonly zone?: number
  readonly suggestion?: string
  readonly verdict: 'helped' | 'did-not-help' | 'too-early' | 'was-clean' | 'no-channel' | 'checked-by-hand' | 'not-attributable'
  readonly verdictText: string
  readonly reasons: readonly string[]
  readonly done: string
  readonly offersReference: readonly { readonly feature: string; readonly title: string }[]
  readonly compared: readonly { readonly feature: string; readonly title: string; readonly recipe: string; readonly before: number; readonly after: number; readonly reference?: number; readonly nBefore: number; readonly nAfter: number }[]
}

export interface ReferenceView {
  readonly id: string
  readonly section: string
  readonly zone?: number
  readonly provisional: boolean
  readonly words: string
}

export interface ProofAnswer {
  readonly proofs: readonly ProofView[]
  readonly references: readonly ReferenceView[]
}

export const intervalApi = {
  intervals: async (line: string, language: Language): Promise<readonly IntervalView[]> => (await ask<{ intervals: IntervalView[] }>(`lines/${at(line)}/intervals?lang=${at(language)}`)).intervals,
  curves: (line: string, id: string): Promise<IntervalCurves> => ask(`lines/${at(line)}/intervals/${at(id)}/curves`),
  proofs: (line: string, language: Language, limit = 50): Promise<ProofAnswer> => ask(`lines/${at(line)}/proofs?lang=${at(language)}&limit=${limit}`),
}
