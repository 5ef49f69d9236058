import { useState } from 'preact/hooks'
import { numberText, timeText } from './format.js'
import { HoldEngineerForm } from './hold-engineer-form.js'
import { holdText } from './hold-texts.js'
import { hashOf, useAnswer } from './page-state.js'
import { RoundCheckForm } from './round-check-form.js'
import { rounds, type HoldCheckView, type HoldView, type RoundCheckView } from './round-client.js'
import { EMPTY_DRAFT, isAnswered, isSound, itemOf, type CheckDraft } from './round-draft.js'
import { roundText } from './round-texts.js'
import type { ScreenProps } from './screen.js'
import { text, type Language } from './texts.js'

const FIRST_SHOWN = 3

/** Settings on hold: what to check, in which order, how long it takes, and what is done. */
export function HoldScreen({ language, line, news }: ScreenProps) {
  const [sent, setSent] = useState(0)
  const id = line?.line ?? ''
  const { answer: hold } = useAnswer(() => rounds.hold(id, language), [id, language, news.fact, sent])
  const { answer: view } = useAnswer(() => rounds.ofLine(id, language), [id, language, news.fact, sent])
  if (line === undefined || hold === undefined) return null
  const say = (key: Parameters<typeof holdText>[1], values?: Readonly<Record<string, string | number>>): string => holdText(language, key, values)
  const checksOf = (ids: readonly { readonly check: string }[]): RoundCheckView[] => (view?.checks ?? []).filter(({ check }) => ids.some((known) => known.check === check))
  const first = [...hold.checks].filter(({ done }) => !done).sort((a, b) => a.rank - b.rank).slice(0, FIRST_SHOWN)
  return (
    <section aria-labelledby="hold-title" class="hold">
      <h2 id="hold-title">
        {say('title')}: {line.title}
      </h2>
      <HoldState hold={hold} language={language} timeZone={line.timeZone} />
      {hold.on && first.length > 0 && (
        <>
          <h3>{say('first')}</h3>
          <ol class="checks first-checks">
            {first.map((check) => (
              <HoldPoint key={`${check.check} ${check.zone ?? ''}`} line={line.line} check={check} forms={checksOf(check.handChecks)} language={language} onSent={() => setSent(sent + 1)} />
            ))}
          </ol>
        </>
      )}
      {hold.checks.length > 0 && (
        <>
          <h3>{say('in-order')}</h3>
          <ol class="checks board-order">
            {hold.checks.map((check) => (
              <PointLine key={`${check.check} ${check.zone ?? ''}`} check={check} language={language} timeZone={line.timeZone} />
            ))}
          </ol>
        </>
      )}
      <HeldChanges line={line.line} hold={hold} language={language} timeZone={line.timeZone} onSent={() => setSent(sent + 1)} />
      <p class="actions">
        <a class="button" href={hashOf({ view: 'changes', line: line.line })}>
          {say('changed')}
        </a>
        <button type="button" onClick={() => print()}>
          {say('print')}
        </button>
      </p>
      {hold.on && <HoldEngineerForm line={line.line} timeZone={line.timeZone} language={language} onSent={() => setSent(sent + 1)} />}
    </section>
  )
}

function HoldState({ hold, language, timeZone }: { readonly hold: HoldView; readonly language: Language; readonly timeZone: string }) {
  const say = (key: Parameters<typeof holdText>[1], values?: Readonly<Record<string, string | number>>): string => holdText(language, key, values)
  if (!hold.on) {
    return (
      <p class="measure">
        {say('off')} {hold.becauseText} {hold.until !== undefined && say('ended-by', { by: hold.by ?? '', time: timeText(hold.until, language, timeZone), reason: hold.reason ?? '' })}
      </p>
    )
  }
  return (
    <div class="card measure">
      <p>{hold.becauseText}</p>
      <p>
        <b>{say('left', { count: hold.checksLeft, minutes: Math.round(hold.minutesLeft) })}</b> · <span class="soft">{say('since', { time: timeText(hold.since, language, timeZone) })}</span>
      </p>
      {hold.checksLeft === 0 && hold.neededHours !== undefined && <p>{say('watching', { hours: numberText(hold.watchedHours ?? 0, language), needed: hold.neededHours })}</p>}
    </div>
  )
}

function place(check: HoldCheckView, language: Language): string {
  return `${text(language, `section.${check.section}`)}${check.zone === undefined ? '' : ` · ${text(language, 'zone')} ${check.zone}`} · ${roundText(language, 'minutes', { minutes: check.minutes })}`
}

function PointLine({ check, language, timeZone }: { readonly check: HoldCheckView; readonly language: Language; readonly timeZone: string }) {
  return (
    <li class={`check ${check.done ? 'is-done' : ''}`} data-point={check.check} data-rank={check.rank}>
      {check.done ? <span class="done">✓ {holdText(language, 'done')}</span> : <span class="open-box" aria-hidden="true" />} <b>{check.title}</b> <span class="soft">{place(check, language)}</span>
      {check.howText !== undefined && (
        <span class="soft">
          {' '}
          · {check.howText}
          {check.doneTime !== undefined && `, ${timeText(check.doneTime, language, timeZone)}`}
        </span>
      )}
      {check.failed !== undefined && <p class="act">{check.failed.text}</p>}
    </li>
  )
}

interface PointProps {
  readonly line: string
  readonly check: HoldCheckView
  readonly forms: readonly RoundCheckView[]
  readonly language: Language
  readonly onSent: () => void
}

/** A point that is next, with the hand checks that settle it ready to be entered. */
function HoldPoint({ line, check, forms, language, onSent }: PointProps) {
  const [draft, setDraft] = useState<Readonly<Record<string, CheckDraft>>>({})
  const [message, setMessage] = useState('')
  const [isFault, setFault] = useState(false)
  const draftOf = (form: RoundCheckView): CheckDraft => draft[form.check] ?? { ...EMPTY_DRAFT, ...(check.zone === undefined ? {} : { zone: check.zone }) }
  const send = async (form: RoundCheckView): Promise<void> => {
    try {
      const answer = (await rounds.enter(line, language, { type: 'round', round: form.every, items: [itemOf(form, draftOf(form))] })) as { readonly waits?: true }
      setDraft({})
      setFault(false)
      setMessage(roundText(language, answer.waits === true ? 'waits' : 'noted'))
      onSent()
    } catch (error) {
      setFault(true)
      setMessage(`${holdText(language, 'not-taken')}: ${error instanceof Error ? error.message : String(error)}`)
    }
  }
  return (
    <li class="check card" data-first={check.check}>
      <h4>
        {check.title} <span class="soft">{place(check, language)}</span>
      </h4>
      {check.failed !== undefined && <p class="act">{check.failed.text}</p>}
      {check.howText !== undefined && <p>{check.howText}</p>}
      {forms.map((form) => (
        <details key={form.check} open={forms.length === 1} data-form={form.check}>
          <summary>
            {holdText(language, 'enter')}: {form.title}
          </summary>
          <RoundCheckForm check={{ ...form, asks: form.values.length > 0 ? form.asks : 'look' }} draft={draftOf(form)} language={language} onChange={(changed) => setDraft((before) => ({ ...before, [form.check]: changed }))} />
          <p class="actions">
            <button type="button" class="main" disabled={!isSound(form, draftOf(form)) || !isAnswered({ ...form, asks: form.asks === 'nothing' ? 'look' : form.asks }, draftOf(form))} onClick={() => void send(form)}>
              {roundText(language, 'save')}
            </button>
          </p>
        </details>
      ))}
      {check.works.length > 0 && <p class="soft">{holdText(language, 'work', { works: check.works.map(({ title }) => title).join(', ') })}</p>}
      {message !== '' && (
        <p class={isFault ? 'act' : 'done'} role={isFault ? 'alert' : 'status'}>
          {message}
        </p>
      )}
    </li>
  )
}

interface ChangesProps {
  readonly line: string
  readonly hold: HoldView
  readonly language: Language
  readonly timeZone: string
  readonly onSent: () => void
}

/** Set-points that moved while on hold: a question for the reason, no blame. */
function HeldChanges({ line, hold, language, timeZone, onSent }: ChangesProps) {
  const [reasons, setReasons] = useState<Readonly<Record<string, string>>>({})
  if (hold.changes.length === 0) return null
  const send = async (change: string): Promise<void> => {
    await rounds.enter(line, language, { type: 'hold', action: 'explain-change', change, reason: reasons[change] ?? '' })
    onSent()
  }
  return (
    <>
      <h3>{holdText(language, 'changes')}</h3>
      <ul class="checks">
        {hold.changes.map((change) => (
          <li key={change.id} class="check">
            {timeText(change.time, language, timeZone)} · {holdText(language, 'moved', { channel: change.channel, from: numberText(change.from, language), to: numberText(change.to, language) })}
            {change.reason !== undefined && <p>{holdText(language, 'reason-is', { reason: change.reason })}</p>}
            {change.reason === undefined && (
              <p class="actions">
                <label class="field wide">
                  {holdText(language, 'reason')}
                  <input type="text" maxLength={2000} value={reasons[change.id] ?? ''} onInput={(event) => setReasons({ ...reasons, [change.id]: event.currentTarget.value })} />
                </label>
                <button type="button" disabled={(reasons[change.id] ?? '').trim() === ''} onClick={() => void send(change.id)}>
                  {holdText(language, 'say')}
                </button>
              </p>
            )}
          </li>
        ))}
      </ul>
    </>
  )
}
