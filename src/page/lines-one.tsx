import type { LineSummary } from './api-types.js'
import { timeText } from './format.js'
import { linesText } from './lines-texts.js'
import { hashOf } from './page-state.js'
import type { OverviewLine, OverviewSection } from './plan-client.js'
import { text, type Language } from './texts.js'

const STROKES = 10

/** One line: its sections in the order a board travels, how sure, since when, what is due, what nothing sees. */
export function LineSections({ line, language }: { readonly line: OverviewLine; readonly language: Language }) {
  return (
    <ol class="plain section-row">
      {line.sections.map((section) => (
        <li key={section.section} class={section.status === 'unseen' ? 'card unseen' : 'card'} data-section={section.section} data-status={section.status}>
          <h3>{section.title}</h3>
          <SectionWords section={section} line={line} language={language} />
        </li>
      ))}
    </ol>
  )
}

function SectionWords({ section, line, language }: { readonly section: OverviewSection; readonly line: OverviewLine; readonly language: Language }) {
  const time = (iso: string): string => timeText(iso, language, line.timeZone)
  return (
    <>
      <p>
        <strong>{linesText(language, `status.${section.status}`)}</strong>
        {section.since !== undefined && <span class="soft"> {linesText(language, 'since', { time: time(section.since) })}</span>}
      </p>
      {section.open.map((suggestion) => (
        <p key={suggestion.id}>
          <a class="touch" href={hashOf({ view: 'suggestion', query: { suggestion: suggestion.id } })}>{suggestion.headline}</a>
          <br />
          <Strokes probability={suggestion.probability} /> {suggestion.words} <span class="soft">{linesText(language, 'since', { time: time(suggestion.since) })}</span>
        </p>
      ))}
      {section.due.length > 0 && (
        <>
          <h4>{linesText(language, 'due-here')}</h4>
          <ul>
            {section.due.map((due) => (
              <li key={`${due.title} ${due.place}`}>
                {due.title} <span class="soft">({due.place}){due.due !== undefined && ` · ${time(due.due)}`} · {due.because.join('; ')}</span>
              </li>
            ))}
          </ul>
        </>
      )}
      {section.unseen.length > 0 && (
        <details class="unseen">
          <summary>
            {linesText(language, 'unseen')}: {section.unseen.length}
          </summary>
          <p>{section.unseen.join(' · ')}</p>
        </details>
      )}
    </>
  )
}

/** How sure, as a length: ten strokes, as many inked as in ten. */
function Strokes({ probability }: { readonly probability: number }) {
  return (
    <span class="strokes" aria-hidden="true">
      {Array.from({ length: STROKES }, (_, index) => (
        <i key={index} class={index < Math.round(probability * STROKES) ? 'inked' : ''} />
      ))}
    </span>
  )
}

/** What the line's charts rest on, and how many readings were not taken. */
export function LineData({ line, language }: { readonly line: LineSummary; readonly language: Language }) {
  const { learning, provisional, accepted, refused } = line.baselines
  const baselines = ([[learning, 'baseline.learning'], [provisional, 'baseline.provisional'], [accepted, 'baseline.accepted'], [refused, 'baseline.refused']] as const).filter(([count]) => count > 0)
  if (baselines.length === 0 && line.rejected.total === 0) return null
  return (
    <p class="soft">
      {baselines.length > 0 && `${text(language, 'lines.baselines')}: `}
      {baselines.map(([count, key]) => `${count} ${text(language, key).replace(/,?\s*\{.*$/, '').split(',')[0]}`).join(' · ')}
      {line.rejected.total > 0 && `${baselines.length > 0 ? ' · ' : ''}${line.rejected.total} ${text(language, 'lines.rejected')}`}
    </p>
  )
}
