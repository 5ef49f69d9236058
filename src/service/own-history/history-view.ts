import { CHECKS } from '../../line/diagnosis/checks.js'
import type { CauseId } from '../../line/causes.js'
import { featureCatalogue } from '../../line/features/feature-catalogue.js'
import type { LineDefinition } from '../../line/line-definition.js'
import { checkWords } from '../../maintenance/catalogue-texts.js'
import type { Language } from '../../maintenance/catalogue-language.js'
import type { Suggestion } from '../../maintenance/suggestion.js'
import { causeTitle, invisibleText, suggestionView } from '../../maintenance/wording.js'
import { featureTitle } from '../line-view.js'
import type { HistoryFindings } from './history-findings.js'

interface SummaryFacts {
  readonly from?: string
  readonly to?: string
  readonly readings: { readonly read: number; readonly taken: number; readonly rejectedByReason: Readonly<Record<string, number>> }
  readonly signals: number
  readonly stateHours: Readonly<Record<string, number>>
  readonly invisible: readonly CauseId[]
  readonly textbook: readonly { readonly channel: string; readonly points: number; readonly episodes: number; readonly pointsInEpisodes: number }[]
  readonly baselines: readonly { readonly status: string }[]
  readonly ignoredColumns?: readonly string[]
}

/** A history's findings in the reader's language. */
export function historyView(findings: HistoryFindings, definition: LineDefinition, language: Language): Record<string, unknown> {
  const summary = findings.summary as unknown as SummaryFacts
  const specs = new Map(featureCatalogue(definition).map((spec) => [spec.feature, spec]))
  return {
    ...(summary.from === undefined ? {} : { from: summary.from, to: summary.to }),
    readings: { read: summary.readings.read, taken: summary.readings.taken, rejectedByReason: summary.readings.rejectedByReason },
    ignoredColumns: summary.ignoredColumns ?? [],
    stateHours: summary.stateHours,
    timeZone: definition.timeZone,
    textbook: { episodes: sumOf(summary.textbook, 'episodes'), share: sumOf(summary.textbook, 'pointsInEpisodes') / Math.max(1, sumOf(summary.textbook, 'points')), byChannel: summary.textbook },
    signals: summary.signals,
    baselinesLearned: summary.baselines.filter(({ status }) => status !== 'learning' && status !== 'refused').length,
    baselines: summary.baselines.length,
    found: findings.found.map(({ suggestion, charts }) => ({
      suggestion: suggestionView(suggestionOf(suggestion), language, definition.timeZone),
      charts: charts.map((chart) => {
        const spec = specs.get(chart.feature)
        return { ...chart, title: spec === undefined ? chart.feature : featureTitle(spec, language), unit: spec?.unit ?? '' }
      }),
    })),
    unseen: {
      text: invisibleText(summary.invisible, language),
      causes: summary.invisible.map((cause) => ({
        cause,
        title: causeTitle(cause, language),
        checks: CHECKS.filter(({ shows, needsElectrician }) => shows.includes(cause) && !needsElectrician).map(({ check, minutes }) => ({ check, title: checkWords(check, language).title, minutes })),
      })),
    },
  }
}

function sumOf<K extends string>(rows: readonly Readonly<Record<K, number>>[], key: K): number {
  return rows.reduce((sum, row) => sum + row[key], 0)
}

/** A suggestion back from its outside form; texts are made anew in the reader's language. */
function suggestionOf(json: Readonly<Record<string, unknown>>): Suggestion {
  const { schemaVersion: _version, time: _time, raised, onset, evidence: _words, evidenceItems, statusTime, history, ...rest } = json
  const ms = (value: unknown): number => Date.parse(String(value))
  return {
    ...rest,
    raisedMs: ms(raised),
    onsetMs: ms(onset),
    statusMs: ms(statusTime),
    evidence: evidenceItems,
    history: (history as readonly Readonly<Record<string, unknown>>[]).map(({ time, until, ...change }) => ({ ...change, timeMs: ms(time), ...(until === undefined ? {} : { untilMs: ms(until) }) })),
  } as unknown as Suggestion
}
