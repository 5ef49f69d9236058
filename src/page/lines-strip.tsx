import type { LineSummary } from './api-types.js'
import { hashOf } from './page-state.js'
import { linesText } from './lines-texts.js'
import './plan-screens.css'
import { text, type Language } from './texts.js'

/** The lines in a few words each, for screens whose question is another one. */
export function LinesStrip({ lines, language }: { readonly lines: readonly LineSummary[] | undefined; readonly language: Language }) {
  if (lines === undefined) return <p role="status">{text(language, 'page.loading')}</p>
  if (lines.length === 0) return <p class="empty">{text(language, 'lines.none')}</p>
  return (
    <ul class="strip" aria-label={linesText(language, 'title')}>
      {lines.map((line) => (
        <li key={line.line} class="line-card" data-line={line.line}>
          <a href={hashOf({ view: 'lines', line: line.line })}>{line.title}</a> {line.simulated && <span class="tag">{text(language, 'page.simulated')}</span>} <strong>{text(language, `state.${line.state}`)}</strong>
          {line.paused !== undefined && <span class="act"> {text(language, 'lines.paused')}</span>}
        </li>
      ))}
    </ul>
  )
}
