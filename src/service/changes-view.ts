import type { Section } from '../line/feature-value.js'
import type { LineDefinition } from '../line/line-definition.js'
import type { Language } from '../maintenance/catalogue-language.js'
import { boardsSince, rankChanges, type RankedChange } from '../maintenance/changes/change-ranking.js'
import { changeWords } from '../maintenance/changes/change-texts.js'
import { workTitle } from '../maintenance/plan/plan-words.js'
import { lastHold } from './hold-view.js'
import { withinRetention } from './names-of-people.js'
import { isoTime } from './output-json.js'
import { csvCell } from './points-csv.js'
import type { SiteLine } from './site-view.js'

/** Changes are looked back for from an onset, or from now. */
const LOOK_BACK_MS = 14 * 24 * 3_600_000
const BOARDS_MS = 24 * 3_600_000

/** What a list of changes or boards is asked about. */
export interface ChangesQuestion {
  readonly sinceMs?: number
  readonly suggestion?: string
}

interface Onset {
  readonly onsetMs: number
  readonly section: Section
  readonly zone?: number
}

/** The onset that is asked about: a suggestion's, else that of the settings on hold. */
function onsetOf(line: SiteLine, { suggestion }: ChangesQuestion): Onset | undefined {
  const asked = suggestion === undefined ? undefined : line.projection.suggestion(suggestion)
  if (asked !== undefined) return { onsetMs: asked.onsetMs, section: asked.section, ...(asked.zone === undefined ? {} : { zone: asked.zone }) }
  const hold = lastHold(line)
  return hold === undefined || !hold.on ? undefined : { onsetMs: hold.onsetMs, section: hold.sections.length === 1 ? hold.sections[0]! : 'line' }
}

/** One list of what changed; beside an onset the likeliest reasons come first, else the newest. */
export function changesView(line: SiteLine, question: ChangesQuestion, language: Language): Record<string, unknown> {
  const onset = onsetOf(line, question)
  const sinceMs = question.sinceMs ?? (onset?.onsetMs ?? line.nowMs()) - LOOK_BACK_MS
  const facts = line.projection.factsOf('change').filter(({ timeMs }) => timeMs >= sinceMs).map((fact) => withinRetention(fact, line.definition, line.nowMs()))
  const ranked = rankChanges(facts, onset?.onsetMs ?? line.nowMs(), onset?.section ?? 'line', onset?.zone)
  const listed = onset === undefined ? [...ranked].sort((a, b) => b.change.timeMs - a.change.timeMs) : ranked
  return {
    since: isoTime(sinceMs),
    ...(onset === undefined ? {} : { onset: isoTime(onset.onsetMs), section: onset.section }),
    changes: listed.map((item) => changeView(item, onset !== undefined, line.definition, language)),
  }
}

function changeView({ change, beforeOnset, minutesBefore, weight }: RankedChange, beside: boolean, definition: LineDefinition, language: Language): Record<string, unknown> {
  const { type: _type, timeMs, work, upstream, withdrawn: _withdrawn, ...rest } = change
  return {
    ...rest,
    time: isoTime(timeMs),
    title: changeWords(change.change, language),
    ...(work === undefined ? {} : { work, workTitle: workTitle(work, language, definition) }),
    ...(upstream === undefined ? {} : { upstreamTitles: upstream.map((id) => workTitle(id, language, definition)) }),
    ...(beside ? { beforeOnset, minutesBefore, weight: Math.round(weight * 1000) / 1000 } : {}),
  }
}

function boardsFrom(line: SiteLine, question: ChangesQuestion): number {
  return question.sinceMs ?? onsetOf(line, question)?.onsetMs ?? line.nowMs() - BOARDS_MS
}

/** Boards, lots and orders since a time or an onset, for quality. */
export function boardsView(line: SiteLine, question: ChangesQuestion): Record<string, unknown> {
  const sinceMs = boardsFrom(line, question)
  const { boards, lots, orders, recipes, stretches } = boardsSince(line.projection.factsOf('boards'), sinceMs)
  return {
    since: isoTime(sinceMs),
    boards,
    lots,
    orders,
    recipes,
    stretches: stretches.map(({ fromMs, untilMs, boards: count, recipe, lot, order }) => ({ from: isoTime(fromMs), until: isoTime(untilMs), boards: count, recipe, ...(lot === undefined ? {} : { lot }), ...(order === undefined ? {} : { order }) })),
  }
}

const BOARD_COLUMNS = ['line', 'from', 'until', 'boards', 'recipe', 'lot', 'order'] as const

/** The same as a table: one line a stretch of at most an hour, times in UTC. */
export function boardsCsv(line: SiteLine, question: ChangesQuestion): string {
  const { stretches } = boardsSince(line.projection.factsOf('boards'), boardsFrom(line, question))
  const rows = stretches.map(({ fromMs, untilMs, boards, recipe, lot = '', order = '' }) => [line.definition.line, isoTime(fromMs), isoTime(untilMs), boards, recipe, lot, order].map(csvCell).join(','))
  return `${[BOARD_COLUMNS.join(','), ...rows].join('\r\n')}\r\n`
}
