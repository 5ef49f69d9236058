import { timeText } from './format.js'
import { LineData, LineSections } from './lines-one.js'
import { linesText } from './lines-texts.js'
import { intervalText } from './interval-texts.js'
import { hashOf, useAnswer } from './page-state.js'
import { planApi, type OverviewLine } from './plan-client.js'
import './plan-screens.css'
import type { ScreenProps } from './screen.js'
import { text, type Language } from './texts.js'

/** Which line first this week; then one line, section by section in the order a board travels. */
export function LinesScreen({ language, route, lines: summaries, news }: ScreenProps) {
  const { answer: lines, failure } = useAnswer(() => planApi.overview(language), [language, news.state, news.suggestion, news.fact, news.signal])
  if (lines === undefined) return <p role="status">{failure ?? text(language, 'page.loading')}</p>
  const one = route.line === undefined ? undefined : lines.find((line) => line.line === route.line)
  return (
    <section aria-labelledby="lines-title">
      <h2 id="lines-title">{one?.title ?? linesText(language, 'title')}</h2>
      {failure !== undefined && <p class="act">{failure}</p>}
      {one !== undefined && (
        <p class="actions no-print">
          <a class="button" href={hashOf({ view: 'lines' })}>
            {linesText(language, 'back')}
          </a>
          <a class="button" href={hashOf({ view: 'charts', line: one.line })}>
            {linesText(language, 'charts')}
          </a>
          <a class="button" href={hashOf({ view: 'intervals', line: one.line })}>
            {intervalText(language, 'screen')}
          </a>
        </p>
      )}
      {one === undefined && (
        <>
          <p class="soft">{linesText(language, 'intro')}</p>
          {lines.length === 0 && <p class="empty">{linesText(language, 'none')}</p>}
          <ol class="lines">
            {lines.map((line, index) => (
              <li key={line.line} class={line.mustNotRun.length > 0 ? 'card line-card act-edge' : 'card line-card'} data-line={line.line}>
                <h3>
                  <span class="rank">{index + 1}.</span>
                  {line.title} {line.simulated && <span class="tag">{text(language, 'page.simulated')}</span>}
                </h3>
                <LineWords line={line} language={language} />
                <details class="unseen">
                  <summary>{linesText(language, 'unseen-count', { count: line.unseen.length })}</summary>
                  <p>{line.unseenText}</p>
                  <p class="soft">{line.unseen.join(' · ')}</p>
                </details>
                <a class="button" href={hashOf({ view: 'lines', line: line.line })}>
                  {linesText(language, 'look')}
                </a>
              </li>
            ))}
          </ol>
          <p class="actions no-print">
            <a class="button" href={hashOf({ view: 'wall' })}>
              {linesText(language, 'wall')}
            </a>
          </p>
        </>
      )}
      {one !== undefined && (
        <>
          <LineWords line={one} language={language} />
          {summaries?.filter(({ line }) => line === one.line).map((summary) => <LineData key={summary.line} line={summary} language={language} />)}
          <LineSections line={one} language={language} />
        </>
      )}
    </section>
  )
}

/** How a line stands, in sentences; only what must not run and what is urgent shouts. */
export function LineWords({ line, language }: { readonly line: OverviewLine; readonly language: Language }) {
  const time = (iso: string): string => timeText(iso, language, line.timeZone)
  const counts = [
    line.suggestions.length > 0 ? linesText(language, 'open', { count: line.suggestions.length }) : undefined,
    line.openJobs > 0 ? linesText(language, 'jobs', { count: line.openJobs }) : undefined,
    line.overdue > 0 ? linesText(language, 'overdue', { count: line.overdue }) : undefined,
    line.due > 0 ? linesText(language, 'due', { count: line.due }) : undefined,
  ].filter((part) => part !== undefined)
  return (
    <>
      {line.mustNotRun.map((job) => (
        <p key={`${job.title} ${job.since}`} class="act">
          {linesText(language, 'must-not-run', { title: job.title, since: time(job.since) })}
        </p>
      ))}
      {line.suggestions
        .filter(({ urgency }) => urgency === 'urgent')
        .map((suggestion) => (
          <p key={suggestion.id} class="act">
            {linesText(language, 'urgent', { headline: suggestion.headline })}
          </p>
        ))}
      {line.paused !== undefined && <p class="act">{linesText(language, 'paused', { why: line.paused })}</p>}
      <p>
        <strong>{text(language, `state.${line.state}`)}</strong> {line.stateSince !== undefined && linesText(language, 'since', { time: time(line.stateSince) })}
        {' · '}
        {counts.length === 0 ? linesText(language, 'calm') : counts.join(' · ')}
      </p>
      {line.suggestions
        .filter(({ urgency }) => urgency !== 'urgent')
        .slice(0, 3)
        .map((suggestion) => (
          <p key={suggestion.id}>
            <a class="touch" href={hashOf({ view: 'suggestion', query: { suggestion: suggestion.id } })}>{suggestion.headline}</a> <span class="soft">{suggestion.byWhen}</span>
          </p>
        ))}
      <p>{line.hold === undefined ? linesText(language, 'no-hold') : <strong>{linesText(language, 'hold', { since: time(line.hold.since), left: line.hold.left, minutes: line.hold.minutes })}</strong>}</p>
      <p>
        {line.nextStop === undefined ? (
          linesText(language, 'no-stop')
        ) : (
          <a class="touch" href={hashOf({ view: 'plan' })}>{linesText(language, line.nextStop.agreed ? 'next-stop' : 'next-stop-proposed', { time: time(line.nextStop.from), minutes: line.nextStop.minutes, jobs: line.nextStop.jobs.join(', ') })}</a>
        )}
      </p>
      {line.dataTime !== undefined && <p class="soft">{linesText(language, 'data-until', { time: time(line.dataTime), zone: line.timeZone })}</p>}
    </>
  )
}
