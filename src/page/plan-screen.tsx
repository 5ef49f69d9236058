import { useState } from 'preact/hooks'
import { timeText } from './format.js'
import { hashOf, useAnswer } from './page-state.js'
import { planApi, type PlanView } from './plan-client.js'
import { failureText } from './plan-failure.js'
import { PlanLedger } from './plan-ledger.js'
import './plan-screens.css'
import { PlanStock } from './plan-stock.js'
import { PlanItems, PlanStopCard } from './plan-stop-card.js'
import { planText } from './plan-texts.js'
import { PlanWeekPicture } from './plan-week-picture.js'
import type { ScreenProps } from './screen.js'
import { text, type Language } from './texts.js'

/** When is what done: the week of all lines, what finds no place, the agreement, stops asked for, stock. */
export function PlanScreen({ language, route, lines, news }: ScreenProps) {
  const week = route.query?.['week']
  const [noted, setNoted] = useState(0)
  const when = [language, week, news.fact, news.suggestion, noted]
  const { answer: plan, failure } = useAnswer(() => planApi.plan(language, week), when)
  const { answer: ledger } = useAnswer(() => planApi.ledger(language), [language, news.fact, noted])
  const { answer: stock } = useAnswer(() => planApi.stock(language), [language, news.fact, noted])
  const again = (): void => setNoted((count) => count + 1)
  if (lines !== undefined && lines.length === 0) return <p class="empty">{planText(language, 'empty')}</p>
  if (plan === undefined) return <p role="status">{failure ?? text(language, 'page.loading')}</p>
  const titles = new Map((lines ?? []).map((line) => [line.line, line.title]))
  return (
    <section aria-labelledby="plan-title" class="plan">
      <h2 id="plan-title">
        {planText(language, 'title')}: {planText(language, 'week', { week: plan.week })}
      </h2>
      {failure !== undefined && <p class="act">{failure}</p>}
      <WeekLinks plan={plan} language={language} />
      <Agreement plan={plan} titles={titles} language={language} onNoted={again} />
      {plan.now.length > 0 && (
        <section>
          <h3>{planText(language, 'now-title')}</h3>
          <PlanItems items={plan.now} language={language} timeZone={plan.timeZone} act />
        </section>
      )}
      <PlanWeekPicture plan={plan} titles={titles} language={language} />
      <p class="soft">{planText(language, 'times-in', { zone: plan.timeZone })}</p>
      <h3>{planText(language, 'stops')}</h3>
      {plan.stops.length === 0 && <p class="empty">{planText(language, 'no-stops')}</p>}
      <ul class="plain stops">
        {plan.stops.map((stop) => (
          <PlanStopCard key={stop.id} stop={stop} plan={plan} language={language} onNoted={again} />
        ))}
      </ul>
      {plan.unplanned.length > 0 && (
        <section>
          <h3>{planText(language, 'no-place')}</h3>
          <PlanItems items={plan.unplanned} language={language} timeZone={plan.timeZone} />
        </section>
      )}
      {plan.rounds.length > 0 && (
        <section>
          <h3>{planText(language, 'rounds-title')}</h3>
          <ul>
            {plan.rounds.map((round) => (
              <li key={`${round.line} ${round.every}`}>
                <a class="touch" href={hashOf({ view: 'shift' })}>{planText(language, `round.${round.every}`, { title: round.title, count: round.count, minutes: round.minutes, date: timeText(round.dueBy, language, plan.timeZone) })}</a>
                {round.overdue > 0 && <span class="soft"> · {planText(language, 'round.overdue', { count: round.overdue })}</span>}
              </li>
            ))}
          </ul>
        </section>
      )}
      {plan.later.length > 0 && (
        <details>
          <summary>
            {planText(language, 'later-title')}: {plan.later.length}
          </summary>
          <PlanItems items={plan.later} language={language} timeZone={plan.timeZone} />
        </details>
      )}
      {ledger !== undefined && <PlanLedger stops={ledger} timeZone={plan.timeZone} language={language} onNoted={again} />}
      {stock !== undefined && <PlanStock stock={stock} timeZone={plan.timeZone} language={language} onNoted={again} />}
    </section>
  )
}

function WeekLinks({ plan, language }: { readonly plan: PlanView; readonly language: Language }) {
  const link = (week: string | undefined): string => hashOf({ view: 'plan', ...(week === undefined ? {} : { query: { week } }) })
  return (
    <p class="actions no-print">
      <a class="button" href={link(plan.previous)}>
        {planText(language, 'previous')}
      </a>
      {plan.current !== plan.week && (
        <a class="button" href={link(undefined)}>
          {planText(language, 'current')}
        </a>
      )}
      <a class="button" href={link(plan.next)}>
        {planText(language, 'next')}
      </a>
      <a class="button" href={planApi.calendarUrl(language, plan.week)} download>
        {planText(language, 'calendar')}
      </a>
      <a class="button" href={planApi.planCsvUrl(language, plan.week)} download>
        {planText(language, 'csv')}
      </a>
    </p>
  )
}

function Agreement({ plan, titles, language, onNoted }: { readonly plan: PlanView; readonly titles: ReadonlyMap<string, string>; readonly language: Language; readonly onNoted: () => void }) {
  const [asking, setAsking] = useState(false)
  const [reason, setReason] = useState('')
  const [refusal, setRefusal] = useState('')
  const done = (): void => {
    setAsking(false)
    setRefusal('')
    onNoted()
  }
  const failed = (error: unknown): void => {
    setRefusal(failureText(error))
    onNoted()
  }
  const some = plan.agreedLines.length > 0 && !plan.agreed
  return (
    <div class="agreement">
      <p>
        {plan.agreed ? <span class="done">✓ {planText(language, 'agreed')}</span> : planText(language, 'proposed')}
        {some && ` ${planText(language, 'agreed-some', { lines: plan.agreedLines.map((line) => titles.get(line) ?? line).join(', ') })}`}
      </p>
      {!asking && (
        <p class="actions no-print">
          {!plan.agreed && (
            <button type="button" class="main" onClick={() => planApi.agree(plan).then(done, failed)}>
              {planText(language, 'agree')}
            </button>
          )}
          {plan.agreedLines.length > 0 && (
            <button type="button" onClick={() => setAsking(true)}>
              {planText(language, 'reopen')}
            </button>
          )}
        </p>
      )}
      {asking && (
        <form onSubmit={(event) => (event.preventDefault(), void planApi.reopen(plan, reason).then(done, failed))}>
          <label class="field wide">
            {planText(language, 'reopen-why')}
            <input type="text" required maxLength={500} value={reason} onInput={(event) => setReason(event.currentTarget.value)} />
          </label>
          <p class="actions">
            <button type="submit" class="main">
              {planText(language, 'reopen')}
            </button>
            <button type="button" onClick={() => setAsking(false)}>
              {planText(language, 'back')}
            </button>
          </p>
        </form>
      )}
      {refusal !== '' && (
        <p class="act" role="alert">
          {planText(language, 'failed')}: {refusal}
        </p>
      )}
    </div>
  )
}
