import { useState } from 'preact/hooks'
import { timeText } from './format.js'
import { planApi, type DueView, type PlanItemView, type PlanStopView, type PlanView } from './plan-client.js'
import { planText } from './plan-texts.js'
import { failureText } from './plan-failure.js'
import type { Language } from './texts.js'

/** One stop: when, how long, for what, and how to ask for it. */
export function PlanStopCard({ stop, plan, language, onNoted }: { readonly stop: PlanStopView; readonly plan: PlanView; readonly language: Language; readonly onNoted: () => void }) {
  const [refusal, setRefusal] = useState('')
  const say = planText
  const ask = (): void => {
    const entry = { type: 'stop', action: 'ask', stop: stop.id, from: stop.from, minutes: stop.minutes, people: stop.people, work: [...new Set(stop.jobs.map(({ work }) => work))] }
    planApi.enter(stop.line, entry, language).then(onNoted, (error: unknown) => setRefusal(failureText(error)))
  }
  return (
    <li class="card stop-card" id={stop.id} data-stop={stop.id}>
      <h3>
        {timeText(stop.from, language, plan.timeZone)} · {stop.title}
      </h3>
      <p>
        <strong>{say(language, 'stop', { minutes: stop.minutes, people: stop.people, shift: stop.peopleOnShift })}</strong>
        {` · ${stop.shift}`}
        {!stop.production && <span class="soft"> · {say(language, 'no-production')}</span>}
        {stop.late && <span class="tag"> {say(language, 'late')}</span>}
      </p>
      {stop.part !== undefined && <p class="act">{say(language, 'part', stop.part)}</p>}
      <ul class="plain stop-jobs">
        {stop.jobs.map((job) => (
          <li key={`${job.work} ${job.zone ?? ''} ${job.from}`}>
            <DueLine due={job} language={language} timeZone={plan.timeZone} />
          </li>
        ))}
      </ul>
      <p class="soft">
        {say(language, 'set-up', { isolation: stop.setUp.isolation, cool: stop.setUp.coolDown, back: stop.setUp.back, warm: stop.setUp.warmUp })}
        {stop.sharedMinutes > 0 && ` · ${say(language, 'shared', { minutes: stop.sharedMinutes })}`}
      </p>
      <p class="actions">
        <a class="button" href={planApi.requestUrl(language, plan.week, stop.id)} target="_blank" rel="noopener">
          {say(language, 'request')}
        </a>
        {stop.asked === undefined ? (
          <button type="button" onClick={ask}>
            {say(language, 'ask')}
          </button>
        ) : (
          <span>{say(language, `asked.${stop.asked}` as 'asked.asked')}</span>
        )}
      </p>
      {refusal !== '' && (
        <p class="act" role="alert">
          {say(language, 'failed')}: {refusal}
        </p>
      )}
    </li>
  )
}

/** A job in one line: what, where, how long, who, and why. */
export function DueLine({ due, language, timeZone }: { readonly due: DueView; readonly language: Language; readonly timeZone: string }) {
  const say = planText
  const [low, , planned] = due.minutes
  return (
    <>
      <strong>{due.title}</strong> · {due.place}
      <br />
      <span class="soft">
        {say(language, 'minutes', { low, planned })}, {say(language, `basis.${due.basis}`)}
        {due.records > 0 && ` (${say(language, 'records', { count: due.records })})`} · {due.people === 1 ? say(language, 'person') : say(language, 'people', { count: due.people })}
        {due.needsElectrician && ` · ${say(language, 'electrician')}`}
        {due.parts.map((part) => ` · ${part.ready === undefined ? say(language, 'parts.unknown', { title: part.title }) : say(language, 'parts.ready', { title: part.title, count: part.ready })}`)}
        {due.due !== undefined && ` · ${say(language, 'due', { date: timeText(due.due, language, timeZone) })}`}
        {` · ${due.because.join('; ')}`}
      </span>
    </>
  )
}

/** Jobs without a place, each with the reason. */
export function PlanItems({ items, language, timeZone, act = false }: { readonly items: readonly PlanItemView[]; readonly language: Language; readonly timeZone: string; readonly act?: boolean }) {
  return (
    <ul class="plain">
      {items.map((item) => (
        <li key={`${item.line} ${item.work} ${item.zone ?? ''}`} class={act ? 'act item' : 'item'} data-reason={item.reasonKey}>
          <p>
            {item.lineTitle}: {item.reason}
          </p>
          <DueLine due={item} language={language} timeZone={timeZone} />
        </li>
      ))}
    </ul>
  )
}
