import { ask, at, post } from './api-client.js'
import type { Language } from './texts.js'

export interface RoundValueView {
  readonly value: string
  readonly title: string
  readonly unit: string
  readonly possibleMin: number
  readonly possibleMax: number
  readonly lower?: number
  readonly upper?: number
  readonly target?: number
  /** The recipe that runs, where target and limits are its own. */
  readonly recipe?: string
  readonly last?: { readonly time: string; readonly value: number }
  readonly feature?: string
}

export interface RoundCheckView {
  readonly check: string
  readonly title: string
  readonly steps: readonly string[]
  readonly section: string
  readonly every: 'shift' | 'day' | 'week' | 'month' | 'event'
  readonly everyText: string
  readonly minutes: number
  readonly status: 'due' | 'overdue' | 'done' | 'not-due'
  readonly carriedOver: boolean
  readonly since?: string
  readonly dueBy?: string
  readonly event?: string
  readonly eventText?: string
  readonly last?: { readonly time: string; readonly inOrder: boolean }
  readonly asks: 'value' | 'look' | 'nothing'
  readonly zones: number
  readonly looks: readonly { readonly finding: number; readonly text: string }[]
  readonly values: readonly RoundValueView[]
  readonly cautions: readonly string[]
}

export interface RoundsView {
  readonly time: string
  readonly shift: { readonly name?: string; readonly from: string; readonly until: string }
  readonly minutesDue: number
  readonly checks: readonly RoundCheckView[]
  readonly exceptions: readonly { readonly time: string; readonly check: string; readonly title: string; readonly zone?: number; readonly reason: string; readonly text: string }[]
}

export interface HoldCheckView {
  readonly check: string
  readonly title: string
  readonly section: string
  readonly zone?: number
  readonly done: boolean
  readonly rank: number
  readonly minutes: number
  readonly how?: string
  readonly howText?: string
  readonly doneTime?: string
  readonly failed?: { readonly time: string; readonly text: string }
  readonly handChecks: readonly { readonly check: string; readonly title: string }[]
  readonly works: readonly { readonly work: string; readonly title: string }[]
}

export interface HoldView {
  readonly on: boolean
  readonly id?: string
  readonly time?: string
  readonly since?: string
  readonly onset?: string
  readonly because?: string
  readonly becauseText?: string
  readonly sections?: readonly string[]
  readonly checksLeft: number
  readonly minutesLeft: number
  readonly checks: readonly HoldCheckView[]
  readonly changes: readonly { readonly id: string; readonly time: string; readonly channel: string; readonly from: number; readonly to: number; readonly reason?: string }[]
  readonly watchedHours?: number
  readonly neededHours?: number
  readonly by?: string
  readonly reason?: string
  readonly until?: string
}

export interface ChangeView {
  readonly id: string
  readonly time: string
  readonly change: string
  readonly title: string
  readonly source: 'entry' | 'channel' | 'record'
  readonly section?: string
  readonly zone?: number
  readonly text?: string
  readonly channel?: string
  readonly from?: number | string
  readonly to?: number | string
  readonly by?: string
  readonly workTitle?: string
  readonly minutes?: number
  readonly upstreamTitles?: readonly string[]
  readonly beforeOnset?: boolean
  readonly minutesBefore?: number
  readonly weight?: number
}

export interface ChangesView {
  readonly since: string
  readonly onset?: string
  readonly section?: string
  readonly changes: readonly ChangeView[]
}

export interface BoardsView {
  readonly since: string
  readonly boards: number
  readonly lots: readonly string[]
  readonly orders: readonly string[]
  readonly recipes: readonly string[]
  readonly stretches: readonly { readonly from: string; readonly until: string; readonly boards: number; readonly recipe: string; readonly lot?: string; readonly order?: string }[]
}

export interface StartUpView {
  readonly id: string
  readonly since: string
  readonly ready?: string
  readonly pumpBeforeMelt?: string
  readonly parts: readonly { readonly part: string; readonly actualS: number; readonly expectedS?: number; readonly lowerS?: number; readonly upperS?: number; readonly starts: number; readonly verdict: 'no-expectation' | 'as-usual' | 'slower' | 'faster' }[]
}

export interface RoundItemBody {
  readonly check: string
  readonly ok: boolean
  readonly values?: Readonly<Record<string, number>>
  readonly finding?: number
  readonly zone?: number
  readonly remark?: string
}

const of = (line: string, what: string, language: Language, more = ''): string => `lines/${at(line)}/${what}?lang=${at(language)}${more}`
const about = (suggestion: string | undefined): string => (suggestion === undefined ? '' : `&suggestion=${at(suggestion)}`)

export const rounds = {
  ofLine: (line: string, language: Language): Promise<RoundsView> => ask(of(line, 'rounds', language)),
  hold: (line: string, language: Language): Promise<HoldView> => ask(of(line, 'hold', language)),
  changes: (line: string, language: Language, suggestion?: string): Promise<ChangesView> => ask(of(line, 'changes', language, about(suggestion))),
  boards: (line: string, language: Language, suggestion?: string): Promise<BoardsView> => ask(of(line, 'boards', language, about(suggestion))),
  boardsCsv: (line: string, language: Language, suggestion?: string): string => `./api/${of(line, 'boards.csv', language, about(suggestion))}`,
  startUps: async (line: string, language: Language): Promise<readonly StartUpView[]> => (await ask<{ starts: StartUpView[] }>(of(line, 'start-ups', language))).starts,
  enter: (line: string, language: Language, entry: Readonly<Record<string, unknown>>): Promise<unknown> => post(of(line, 'entries', language), entry),
}
