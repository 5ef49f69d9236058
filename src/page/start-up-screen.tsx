import { useState } from 'preact/hooks'
import { timeText } from './format.js'
import { useAnswer } from './page-state.js'
import { RoundCheckForm } from './round-check-form.js'
import { rounds, type RoundCheckView, type StartUpView } from './round-client.js'
import { EMPTY_DRAFT, isAnswered, isSound, itemOf, type CheckDraft } from './round-draft.js'
import { roundText } from './round-texts.js'
import type { ScreenProps } from './screen.js'
import { startUpText } from './start-up-texts.js'
import type { Language } from './texts.js'

type Part = StartUpView['parts'][number]

/** Expected against actual time to ready of each zone and the pot, in words and then as a picture; the short list before the first board. */
export function StartUpScreen({ language, line, news }: ScreenProps) {
  const [sent, setSent] = useState(0)
  const id = line?.line ?? ''
  const { answer: starts } = useAnswer(() => rounds.startUps(id, language), [id, language, news.fact, sent])
  const { answer: view } = useAnswer(() => rounds.ofLine(id, language), [id, language, news.fact, sent])
  if (line === undefined || starts === undefined) return null
  const say = (key: Parameters<typeof startUpText>[1], values?: Readonly<Record<string, string | number>>): string => startUpText(language, key, values)
  const [newest, ...earlier] = starts
  const checks = (view?.checks ?? []).filter(({ event }) => event === 'start-up')
  return (
    <section aria-labelledby="start-title" class="start-up">
      <h2 id="start-title">
        {say('title')}: {line.title}
      </h2>
      {newest === undefined ? <p class="empty">{say('none')}</p> : <Start start={newest} language={language} timeZone={line.timeZone} />}
      {newest !== undefined && (
        <>
          <h3>{say('checklist')}</h3>
          {checks.length === 0 && isOver(newest, view?.shift.from) && <p class="soft">{say('checklist-over')}</p>}
          {checks.length === 0 && view !== undefined && !isOver(newest, view.shift.from) && <p class="done">✓ {say('checklist-done')}</p>}
          {checks.length > 0 && <Checklist line={line.line} checks={checks} language={language} onSent={() => setSent(sent + 1)} />}
        </>
      )}
      {earlier.length > 0 && (
        <details>
          <summary>{say('earlier')}</summary>
          {earlier.map((start) => (
            <Start key={start.id} start={start} language={language} timeZone={line.timeZone} />
          ))}
        </details>
      )}
    </section>
  )
}

/** A line is heated up so long before its shift begins at most. [ASM] */
const START_BEFORE_SHIFT_MS = 3 * 3_600_000

/** The start belongs to a shift that has ended. */
function isOver(start: StartUpView, shiftFrom: string | undefined): boolean {
  return shiftFrom !== undefined && Date.parse(start.since) < Date.parse(shiftFrom) - START_BEFORE_SHIFT_MS
}

function spanText(seconds: number, language: Language): string {
  return startUpText(language, 'min', { minutes: new Intl.NumberFormat(language, { maximumFractionDigits: 1 }).format(seconds / 60) })
}

function partName(part: string, language: Language): string {
  const zone = /^zone-(\d+)$/.exec(part)?.[1]
  return zone === undefined ? startUpText(language, 'pot') : startUpText(language, 'zone', { zone })
}

function Start({ start, language, timeZone }: { readonly start: StartUpView; readonly language: Language; readonly timeZone: string }) {
  const span = start.ready === undefined ? undefined : (Date.parse(start.ready) - Date.parse(start.since)) / 1000
  const longestS = Math.max(1, ...start.parts.flatMap(({ actualS, upperS = 0 }) => [actualS, upperS]))
  return (
    <article class="card" data-start={start.id}>
      <h4>
        {startUpText(language, 'started', { time: timeText(start.since, language, timeZone) })} · {span === undefined ? startUpText(language, 'not-ready') : startUpText(language, 'ready', { span: spanText(span, language) })}
      </h4>
      {start.pumpBeforeMelt !== undefined && <p class="act">{startUpText(language, 'pump-early', { time: timeText(start.pumpBeforeMelt, language, timeZone) })}</p>}
      <ul class="plain">
        {[...start.parts].sort((a, b) => a.part.localeCompare(b.part)).reverse().sort((a, b) => Number(a.part === 'pot') - Number(b.part === 'pot') || a.part.localeCompare(b.part)).map((part) => (
          <li key={part.part} data-part={part.part} data-verdict={part.verdict}>
            <p>{partText(part, language)}</p>
            <PartBar part={part} longestS={longestS} language={language} />
          </li>
        ))}
      </ul>
    </article>
  )
}

function partText({ part, actualS, lowerS, upperS, starts, verdict }: Part, language: Language): string {
  return startUpText(language, verdict, { part: partName(part, language), actual: spanText(actualS, language), lower: spanText(lowerS ?? 0, language), upper: spanText(upperS ?? 0, language), starts })
}

/** The usual range as a bar, this start as a tick through it. */
function PartBar({ part, longestS, language }: { readonly part: Part; readonly longestS: number; readonly language: Language }) {
  const share = (seconds: number): string => `${((seconds / longestS) * 96).toFixed(1)}%`
  const { actualS, lowerS, upperS } = part
  const label = lowerS === undefined || upperS === undefined ? `${partName(part.part, language)}: ${spanText(actualS, language)}` : startUpText(language, 'bar', { part: partName(part.part, language), actual: spanText(actualS, language), lower: spanText(lowerS, language), upper: spanText(upperS, language) })
  return (
    <div class="start-bar" role="img" aria-label={label}>
      {lowerS !== undefined && upperS !== undefined && <i class="usual" style={{ left: share(lowerS), width: share(upperS - lowerS) }} />}
      <i class={`tick ${part.verdict === 'slower' || part.verdict === 'faster' ? 'is-off' : ''}`} style={{ left: share(actualS) }} />
    </div>
  )
}

interface ChecklistProps {
  readonly line: string
  readonly checks: readonly RoundCheckView[]
  readonly language: Language
  readonly onSent: () => void
}

/** Melt complete, purge, paper test, empty loops, first board: each is told, then all are entered at once. */
function Checklist({ line, checks, language, onSent }: ChecklistProps) {
  const [drafts, setDrafts] = useState<Readonly<Record<string, CheckDraft>>>({})
  const [failure, setFailure] = useState('')
  const draftOf = (check: RoundCheckView): CheckDraft => drafts[check.check] ?? EMPTY_DRAFT
  const told = checks.filter((check) => isAnswered({ ...check, asks: check.asks === 'nothing' ? 'look' : check.asks }, draftOf(check)) && isSound(check, draftOf(check)))
  const send = async (): Promise<void> => {
    try {
      await rounds.enter(line, language, { type: 'round', round: 'event', items: told.map((check) => itemOf(check, draftOf(check))) })
      setDrafts({})
      setFailure('')
      onSent()
    } catch (error) {
      setFailure(`${startUpText(language, 'not-taken')}: ${error instanceof Error ? error.message : String(error)}`)
    }
  }
  return (
    <div class="card">
      <ol class="checks">
        {checks.map((check) => (
          <li key={check.check} class="check" data-check={check.check}>
            <b>{check.title}</b> <span class="soft">{roundText(language, 'minutes', { minutes: check.minutes })}</span>
            <RoundCheckForm check={{ ...check, asks: check.asks === 'nothing' ? 'look' : check.asks }} draft={draftOf(check)} language={language} onChange={(draft) => setDrafts((before) => ({ ...before, [check.check]: draft }))} brief={true} />
          </li>
        ))}
      </ol>
      <p class="actions">
        <button type="button" class="main" disabled={told.length === 0} onClick={() => void send()}>
          {roundText(language, 'save')}
        </button>
      </p>
      {failure !== '' && (
        <p class="act" role="alert">
          {failure}
        </p>
      )}
    </div>
  )
}
