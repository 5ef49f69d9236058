import { useEffect, useRef, useState } from 'preact/hooks'
import { timeText } from './format.js'
import { linesText } from './lines-texts.js'
import { hashOf, useAnswer } from './page-state.js'
import { planApi, type OverviewLine } from './plan-client.js'
import './plan-screens.css'
import type { ScreenProps } from './screen.js'
import { text, type Language } from './texts.js'

/** The wall asks again so often, whether the service has news or not. */
const ASK_AGAIN_MS = 30_000

/**
 * All lines for a screen on the wall: no login, nothing to press, read in five seconds from three metres. It names no
 * recipe, part, lot or person: the service's answer for it holds none.
 */
export function WallScreen({ language, news }: ScreenProps) {
  const [turn, setTurn] = useState(0)
  const answered = useRef<string | undefined>(undefined)
  const { answer: lines, failure } = useAnswer(async () => {
    const got = await planApi.overview(language)
    answered.current = new Date().toISOString()
    return got
  }, [language, turn, news.state, news.suggestion, news.fact])
  useEffect(() => {
    document.body.classList.add('wall')
    const timer = setInterval(() => setTurn((count) => count + 1), ASK_AGAIN_MS)
    return () => {
      document.body.classList.remove('wall')
      clearInterval(timer)
    }
  }, [])
  if (lines === undefined) return <p role="status">{failure ?? text(language, 'page.loading')}</p>
  return (
    <section aria-label={linesText(language, 'title')}>
      {failure !== undefined && (
        <p class="act" role="status">
          {linesText(language, 'wall-old', { time: timeText(answered.current, language, lines[0]?.timeZone ?? 'UTC') })}
        </p>
      )}
      {lines.length === 0 && <p>{linesText(language, 'none')}</p>}
      <ol class={lines.length > 4 ? 'wall-lines many' : 'wall-lines'}>
        {lines.map((line) => (
          <WallLine key={line.line} line={line} language={language} />
        ))}
      </ol>
      <p class="wall-foot">
        <span>{linesText(language, 'wall-advice')}</span>
        <a class="touch" href={hashOf({ view: 'lines' })}>{linesText(language, 'title')}</a>
      </p>
    </section>
  )
}

/** One sentence says what matters most; the next stop and the state stand below it, smaller. */
function WallLine({ line, language }: { readonly line: OverviewLine; readonly language: Language }) {
  const mustNot = line.mustNotRun[0]
  const urgent = line.suggestions.find(({ urgency }) => urgency === 'urgent')
  const first = line.suggestions[0]
  const isCalm = mustNot === undefined && urgent === undefined && first === undefined && line.hold === undefined && line.due === 0 && line.overdue === 0
  return (
    <li class={mustNot !== undefined || urgent !== undefined ? 'wall-line must-not' : isCalm ? 'wall-line calm' : 'wall-line'} data-line={line.line}>
      <h2>{line.title}</h2>
      <p class="wall-first">{firstSentence(line, language)}</p>
      {line.suggestions.length > 1 && <p>{linesText(language, 'wall-more', { count: line.suggestions.length - 1 })}</p>}
      {line.hold !== undefined && <p>{linesText(language, 'hold', { since: timeText(line.hold.since, language, line.timeZone), left: line.hold.left, minutes: line.hold.minutes })}</p>}
      <p class="soft">
        {text(language, `state.${line.state}`)}
        {line.simulated && ` · ${text(language, 'page.simulated')}`}
        {line.nextStop !== undefined && ` · ${linesText(language, line.nextStop.agreed ? 'next-stop' : 'next-stop-proposed', { time: timeText(line.nextStop.from, language, line.timeZone), minutes: line.nextStop.minutes, jobs: line.nextStop.jobs[0] ?? '' })}`}
      </p>
    </li>
  )
}

function firstSentence(line: OverviewLine, language: Language): string {
  const [mustNot] = line.mustNotRun
  if (mustNot !== undefined) return mustNot.reason === 'washed-not-lubricated' ? linesText(language, 'washed') : linesText(language, 'must-not-run', { title: mustNot.title, since: timeText(mustNot.since, language, line.timeZone) })
  const urgent = line.suggestions.find(({ urgency }) => urgency === 'urgent')
  if (urgent !== undefined) return linesText(language, 'urgent', { headline: urgent.headline })
  if (line.paused !== undefined) return linesText(language, 'paused', { why: '' }).replace(/[:\s]+$/, '')
  const [first] = line.suggestions
  if (first !== undefined) return first.headline
  if (line.overdue > 0) return capital(linesText(language, 'overdue', { count: line.overdue }))
  return line.due > 0 ? capital(linesText(language, 'due', { count: line.due })) : linesText(language, 'calm')
}

function capital(words: string): string {
  return words.charAt(0).toUpperCase() + words.slice(1)
}
