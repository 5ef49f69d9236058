import type { ComponentType } from 'preact'
import type { LineSummary } from './api-types.js'
import type { LiveKind } from './live-updates.js'
import type { Route } from './page-state.js'
import type { Language } from './texts.js'

/** What every screen gets. */
export interface ScreenProps {
  readonly language: Language
  readonly route: Route
  readonly lines: readonly LineSummary[] | undefined
  /** The line of the address, else the first. */
  readonly line: LineSummary | undefined
  /** Counts of what has come since the page was opened; what depends on one reads again when it changes. */
  readonly news: Readonly<Record<LiveKind, number>>
}

/** One question a screen. */
export interface Screen {
  /** First part of the address behind the hash. */
  readonly view: string
  readonly title: Readonly<Record<Language, string>>
  /** Whether it stands in the row at the top; the others are reached from a screen. */
  readonly inRow: boolean
  /** Used with gloves: everything to be touched is large. */
  readonly gloves?: true
  /** Whether its address names a line. */
  readonly ofLine: boolean
  readonly component: ComponentType<ScreenProps>
}
