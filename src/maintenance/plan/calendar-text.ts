import type { Language } from '../catalogue-language.js'
import { reportText } from '../report/report-words.js'
import { placeText, itemTitle } from './plan-words.js'
import type { PlannedStop, WeekPlan } from './week-plan.js'

/** RFC 5545, 3.1: lines of at most 75 octets without the line break. */
const OCTETS_MAX = 75

/**
 * The stops of a week as an iCalendar document (RFC 5545). Times are UTC, so that no calendar needs our idea of a time
 * zone; an event keeps its UID when its stop moves within the week, and a proposed stop is tentative.
 *
 * @param options.stampMs when the plan was made, ms UTC
 * @param options.titles names of lines by id
 */
export function calendarText(plan: WeekPlan, language: Language, options: { readonly stampMs: number; readonly titles: ReadonlyMap<string, string> }): string {
  const lines = [
    'BEGIN:VCALENDAR',
    'VERSION:2.0',
    'PRODID:-//wave-solder-spc//plan//EN',
    'CALSCALE:GREGORIAN',
    'METHOD:PUBLISH',
    ...plan.stops.flatMap((stop) => eventLines(stop, plan, language, options)),
    'END:VCALENDAR',
  ]
  return lines.map((line) => `${folded(line)}\r\n`).join('')
}

function eventLines(stop: PlannedStop, { week }: WeekPlan, language: Language, { stampMs, titles }: { readonly stampMs: number; readonly titles: ReadonlyMap<string, string> }): string[] {
  const title = titles.get(stop.line) ?? stop.line
  const jobs = stop.jobs.map(({ item }) => `${itemTitle(item, language)} (${placeText(item, language)}), ${reportText('people', language)}: ${item.people}, ${item.minutes.planned} min`)
  const minutes = Math.round((stop.untilMs - stop.fromMs) / 60_000)
  return [
    'BEGIN:VEVENT',
    `UID:${uidOf(stop, week)}`,
    `DTSTAMP:${utc(stampMs)}`,
    `DTSTART:${utc(stop.fromMs)}`,
    `DTEND:${utc(stop.untilMs)}`,
    `SUMMARY:${escaped(`${title}: ${stop.jobs.map(({ item }) => itemTitle(item, language)).join(', ')}`)}`,
    `DESCRIPTION:${escaped([...jobs, `${minutes} min, ${reportText('people', language)}: ${stop.people}`, reportText('advice', language)].join('\n'))}`,
    `LOCATION:${escaped(title)}`,
    `STATUS:${stop.agreed ? 'CONFIRMED' : 'TENTATIVE'}`,
    'END:VEVENT',
  ]
}

/** Made of week, line and the first of its jobs by name: nothing of it changes when the stop moves. */
function uidOf({ line, jobs, part }: PlannedStop, week: string): string {
  const [first = ''] = jobs.map(({ item }) => item.id).sort()
  return `${week}-${line}-${first.replaceAll(/[^A-Za-z0-9-]/g, '.')}${part === undefined ? '' : `-${part.number}`}@wave-solder-spc`
}

function utc(timeMs: number): string {
  return `${new Date(timeMs).toISOString().slice(0, 19).replaceAll(/[-:]/g, '')}Z`
}

/** RFC 5545, 3.3.11: backslash, semicolon and comma are escaped, line breaks written as `\n`; other controls left out. */
function escaped(text: string): string {
  return text
    .replaceAll(/\r\n?/g, '\n')
    .replaceAll(/[\u0000-\u0009\u000B-\u001F\u007F]/g, ' ')
    .replaceAll(/[\\;,]/g, (character) => `\\${character}`)
    .replaceAll('\n', '\\n')
}

/** Folded between characters, never inside one: a continuation begins with a blank that counts. */
function folded(line: string): string {
  const pieces: string[] = []
  let piece = ''
  let octets = 0
  for (const character of line) {
    const size = octetsOf(character)
    if (octets + size > OCTETS_MAX) {
      pieces.push(piece)
      piece = ' '
      octets = 1
    }
    piece += character
    octets += size
  }
  return [...pieces, piece].join('\r\n')
}

/** Octets of a character in UTF-8. */
function octetsOf(character: string): number {
  const code = character.codePointAt(0)!
  return code < 0x80 ? 1 : code < 0x800 ? 2 : code < 0x10000 ? 3 : 4
}
