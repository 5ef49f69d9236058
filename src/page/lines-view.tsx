import { api } from './api-client.js'
import type { LineSummary } from './api-types.js'
import { timeText } from './format.js'
import { hashOf, useAnswer } from './page-state.js'
import { text, type Language } from './texts.js'

/** All lines, each in a few sentences: what it does, what asks for work, what its sensors cannot see. */
export function LinesView({ lines, language }: { readonly lines: readonly LineSummary[] | undefined; readonly language: Language }) {
  if (lines === undefined) return <p>{text(language, 'page.loading')}</p>
  if (lines.length === 0) return <p class="empty">{text(language, 'lines.none')}</p>
  return (
    <section aria-labelledby="lines-title">
      <h2 id="lines-title">{text(language, 'lines.title')}</h2>
      <ul class="lines">
        {lines.map((line) => (
          <LineItem key={line.line} line={line} language={language} />
        ))}
      </ul>
    </section>
  )
}

function LineItem({ line, language }: { readonly line: LineSummary; readonly language: Language }) {
  const { answer: detail } = useAnswer(() => api.line(line.line, language), [line.line, language])
  const { learning, provisional, accepted, refused } = line.baselines
  const baselines = [
    [learning, 'baseline.learning'],
    [provisional, 'baseline.provisional'],
    [accepted, 'baseline.accepted'],
    [refused, 'baseline.refused'],
  ] as const
  return (
    <li class="card line-card" data-line={line.line}>
      <h3>
        {line.title} {line.simulated && <span class="tag">{text(language, 'page.simulated')}</span>}
      </h3>
      <p>
        <strong>{text(language, `state.${line.state}`)}</strong> {line.stateSince !== undefined && `${text(language, 'lines.since')} ${timeText(line.stateSince, language, line.timeZone)}`}
        {' · '}
        {line.openSuggestions > 0 ? <a href={hashOf({ view: 'shift' })}>{`${text(language, 'lines.open')}: ${line.openSuggestions}`}</a> : text(language, 'lines.quiet')}
      </p>
      {line.paused !== undefined && <p class="act">{`${text(language, 'lines.paused')}: ${line.paused}`}</p>}
      <p class="soft">
        {text(language, 'lines.data-until')} {timeText(line.dataTime, language, line.timeZone)} ({line.timeZone})
        {line.rejected.total > 0 && ` · ${line.rejected.total} ${text(language, 'lines.rejected')}`}
      </p>
      <p class="soft">
        {text(language, 'lines.baselines')}:{' '}
        {baselines
          .filter(([count]) => count > 0)
          .map(([count, key]) => `${count} ${text(language, key).replace(/,?\s*\{.*$/, '').split(',')[0]}`)
          .join(' · ')}
      </p>
      {detail !== undefined && detail.invisible.length > 0 && (
        <details class="unseen">
          <summary>{`${text(language, 'lines.unseen')}: ${detail.invisible.length}`}</summary>
          <p>{detail.invisibleText}</p>
          <p class="soft">{detail.invisible.map((fault) => fault.title).join(' · ')}</p>
        </details>
      )}
      <a class="button" href={hashOf({ view: 'charts', line: line.line })}>
        {text(language, 'lines.charts')}
      </a>
    </li>
  )
}
