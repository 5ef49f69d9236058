import { useState } from 'preact/hooks'
import type { LineSummary } from './api-types.js'
import { timeText } from './format.js'
import { HoldStrip } from './hold-strip.js'
import { hashOf, useAnswer } from './page-state.js'
import { RoundCheckForm } from './round-check-form.js'
import { rounds, type RoundCheckView, type RoundItemBody, type RoundsView } from './round-client.js'
import { EMPTY_DRAFT, isAnswered, isLonger, isOfStart, isOfThisRound, isOfToday, isSound, itemOf, type CheckDraft } from './round-draft.js'
import { roundText } from './round-texts.js'
import { text, type Language } from './texts.js'

interface SectionProps {
  readonly lines: readonly LineSummary[] | undefined
  readonly language: Language
  readonly news: number
}

/** The rounds of every line, in the order of walking: what is due, one tap when all is fine, detail for exceptions only. */
export function RoundSection({ lines, language, news }: SectionProps) {
  return (
    <>
      {(lines ?? []).map((line) => (
        <LineRound key={line.line} line={line} language={language} news={news} isAlone={lines?.length === 1} />
      ))}
    </>
  )
}

/** Where the technician last was: that line's round is open when he comes back to the page. */
const OPEN_ROUND = 'wave-solder-open-round'

/** The round of one line; beside others it is one row until the technician stands there. */
function LineRound({ line, language, news, isAlone }: { readonly line: LineSummary; readonly language: Language; readonly news: number; readonly isAlone: boolean }) {
  const [sent, setSent] = useState(0)
  const [isHere, setHere] = useState(() => sessionStorage.getItem(OPEN_ROUND) === line.line)
  const { answer: view } = useAnswer(() => rounds.ofLine(line.line, language), [language, news, sent, line.stateSince])
  if (view === undefined) return null
  const starting = view.checks.filter(isOfStart)
  const due = view.checks.filter(isOfThisRound)
  const isOpen = isAlone || isHere
  const turn = (): void => {
    if (!isHere) sessionStorage.setItem(OPEN_ROUND, line.line)
    setHere(!isHere)
  }
  if (!isOpen) {
    return (
      <section class="round round-row" data-round={line.line} aria-labelledby={`round-${line.line}`}>
        <h3 id={`round-${line.line}`}>
          {roundText(language, 'title')}: {line.title}
        </h3>
        <span class="soft">
          {due.length === 0 ? `✓ ${roundText(language, 'all-done')}` : roundText(language, 'row', { count: due.length, minutes: Math.round(due.reduce((sum, { minutes }) => sum + minutes, 0)) })}
          {view.exceptions.length > 0 && ` · ${roundText(language, 'found')}: ${view.exceptions.length}`}
        </span>
        <button type="button" aria-expanded={false} aria-label={`${roundText(language, 'open')}: ${line.title}`} onClick={turn}>
          {roundText(language, 'open')}
        </button>
        <HoldStrip line={line} language={language} news={news} />
      </section>
    )
  }
  return (
    <section class="round" data-round={line.line} aria-labelledby={`round-${line.line}`}>
      <h2 id={`round-${line.line}`}>
        {roundText(language, 'title')}: {line.title} {view.shift.name !== undefined && <span class="soft">{view.shift.name}</span>}
      </h2>
      <HoldStrip line={line} language={language} news={news} />
      <WalkedRound line={line} view={view} language={language} onSent={() => setSent(sent + 1)} />
      <p class="actions">
        {!isAlone && (
          <button type="button" aria-expanded={true} onClick={turn}>
            {roundText(language, 'close')}
          </button>
        )}
        <a class="button" href={hashOf({ view: 'changes', line: line.line })}>
          {roundText(language, 'changes')}
        </a>
        <a class="button" href={hashOf({ view: 'start-up', line: line.line })}>
          {starting.length === 0 ? roundText(language, 'start-up') : roundText(language, 'start-list', { count: starting.length, minutes: Math.round(starting.reduce((sum, { minutes }) => sum + minutes, 0)) })}
        </a>
      </p>
    </section>
  )
}

interface WalkedProps {
  readonly line: LineSummary
  readonly view: RoundsView
  readonly language: Language
  readonly onSent: () => void
}

/** The checks of this shift with their one tap, those of week and month below. */
function WalkedRound({ line, view, language, onSent }: WalkedProps) {
  const [drafts, setDrafts] = useState<Readonly<Record<string, CheckDraft>>>({})
  const [open, setOpen] = useState<readonly string[]>([])
  const [message, setMessage] = useState<{ readonly text: string; readonly isFault: boolean }>()
  const [sending, setSending] = useState(false)
  const draftOf = (check: RoundCheckView): CheckDraft => drafts[check.check] ?? EMPTY_DRAFT
  const change = (check: RoundCheckView) => (draft: CheckDraft) => setDrafts((before) => ({ ...before, [check.check]: draft }))
  const toggle = (check: string): void => setOpen((before) => (before.includes(check) ? before.filter((known) => known !== check) : [...before, check]))
  const now = view.checks.filter(isOfThisRound)
  const groups = [
    { key: 'today', checks: view.checks.filter(isOfToday), open: true },
    { key: 'longer', checks: view.checks.filter(isLonger), open: false },
  ] as const
  const shown = [...now, ...groups.flatMap(({ checks }) => checks)]
  const unanswered = now.filter((check) => !isAnswered(check, draftOf(check)))
  const sound = now.every((check) => isSound(check, draftOf(check)))

  const send = async (round: string, checks: readonly RoundCheckView[]): Promise<void> => {
    setSending(true)
    setMessage(undefined)
    try {
      const items: RoundItemBody[] = checks.map((check) => itemOf(check, draftOf(check)))
      const answer = (await rounds.enter(line.line, language, { type: 'round', round, items })) as { readonly waits?: true }
      const gone = checks.map(({ check }) => check)
      setDrafts((before) => Object.fromEntries(Object.entries(before).filter(([check]) => !gone.includes(check))))
      setOpen((before) => before.filter((check) => !gone.includes(check)))
      setMessage({ text: roundText(language, answer.waits === true ? 'waits' : 'noted'), isFault: false })
      onSent()
    } catch (error) {
      setMessage({ text: `${roundText(language, 'not-taken')}: ${error instanceof Error ? error.message : String(error)}`, isFault: true })
    } finally {
      setSending(false)
    }
  }

  const row = (check: RoundCheckView, single: boolean) => {
    const isOpen = open.includes(check.check)
    const isAsked = !single && check.asks !== 'nothing'
    return (
      <li key={check.check} class="check" data-check={check.check} data-asks={check.asks}>
        <div class="check-head">
          <span>
            <b>{check.title}</b>{' '}
            <span class="soft">
              {text(language, `section.${check.section}`)} · {roundText(language, 'minutes', { minutes: check.minutes })}
              {check.eventText !== undefined && ` · ${check.eventText}`}
              {check.status === 'overdue' && ` · ${roundText(language, 'overdue', { time: timeText(check.since, language, line.timeZone) })}`}
            </span>
          </span>
          <button type="button" aria-expanded={isOpen} onClick={() => toggle(check.check)}>
            {roundText(language, isOpen ? 'close' : 'exception')}
          </button>
        </div>
        {(isOpen || isAsked) && <RoundCheckForm check={check} draft={draftOf(check)} language={language} onChange={change(check)} brief={!isOpen} />}
        {single && isOpen && (
          <p class="actions">
            <button type="button" class="main" disabled={sending || !isSound(check, draftOf(check)) || !isAnswered(check, draftOf(check))} onClick={() => void send(check.every, [check])}>
              {roundText(language, 'save')}
            </button>
          </p>
        )}
      </li>
    )
  }

  const minutes = (checks: readonly RoundCheckView[]): number => Math.round(checks.reduce((sum, check) => sum + check.minutes, 0))
  return (
    <div class="card">
      {now.length === 0 ? (
        <p class="done">✓ {roundText(language, 'all-done')}</p>
      ) : (
        <>
          <p class="soft">{roundText(language, 'quiet', { count: now.length, minutes: minutes(now) })}</p>
          <ol class="checks">{now.map((check) => row(check, false))}</ol>
          <p class="actions">
            <button type="button" class="main wide-button" disabled={sending || unanswered.length > 0 || !sound} onClick={() => void send('shift', now)}>
              {roundText(language, sending ? 'saving' : 'all-fine')}
            </button>
            {unanswered.length > 0 && <span>{roundText(language, 'answers-left', { count: unanswered.length })}</span>}
          </p>
        </>
      )}
      {message !== undefined && (
        <p class={message.isFault ? 'act' : 'done'} role={message.isFault ? 'alert' : 'status'}>
          {message.text}
        </p>
      )}
      {view.exceptions.length > 0 && (
        <div class="found">
          <h3>{roundText(language, 'found')}</h3>
          <ul>
            {view.exceptions.map((exception) => (
              <li key={`${exception.time} ${exception.check} ${exception.text}`}>
                <b>{exception.title}</b>
                {exception.zone !== undefined && ` · ${roundText(language, 'zone')} ${exception.zone}`}: {exception.text}
              </li>
            ))}
          </ul>
        </div>
      )}
      {groups.map(
        ({ key, checks, open: isFirst }) =>
          checks.length > 0 && (
            <details key={key} open={isFirst}>
              <summary>{roundText(language, key, { count: checks.length, minutes: minutes(checks) })}</summary>
              <ol class="checks">{checks.map((check) => row(check, true))}</ol>
            </details>
          ),
      )}
      <details>
        <summary>{roundText(language, 'others')}</summary>
        <ol class="checks">{view.checks.filter((check) => !shown.includes(check)).map((check) => row(check, true))}</ol>
      </details>
    </div>
  )
}
