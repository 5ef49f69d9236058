import { useEffect, useState } from 'preact/hooks'
import { hashOf, useAnswer } from './page-state.js'
import { timeText } from './format.js'
import { jobs, type JobView } from './job-client.js'
import { jobText } from './job-words.js'
import type { LineSummary } from './api-types.js'
import type { Language } from './texts.js'

const CLOCK_MS = 20_000

/** What stands on every screen: lines that must not be started, and what cannot wait. Nothing when all is well. */
export function JobBanner({ language, lines, news }: { readonly language: Language; readonly lines: readonly LineSummary[] | undefined; readonly news: number }) {
  const { answer } = useAnswer(() => jobs.open(language), [language, news])
  const shown = (answer ?? []).filter((job) => job.doNotStart !== undefined || job.urgentText !== undefined)
  if (shown.length === 0) return null
  return (
    <div class="stop-banner" role="alert">
      {shown.map((job) => (
        <Stop key={job.id} job={job} line={lines?.find((line) => line.line === job.line)} language={language} />
      ))}
    </div>
  )
}

function Stop({ job, line, language }: { readonly job: JobView; readonly line: LineSummary | undefined; readonly language: Language }) {
  const { doNotStart } = job
  return (
    <p class="act stop" data-stop={job.work}>
      <b>
        {line?.title ?? job.line}: {doNotStart?.text ?? job.title}
      </b>{' '}
      {doNotStart !== undefined && <Clock since={doNotStart.since} now={line?.simulated === true ? line.dataTime : undefined} language={language} />}
      {job.urgentText !== undefined && <span> {job.urgentText}</span>}
      {job.followUp !== undefined && <span> {jobText(language, 'follow', { work: job.followUp.title })}.</span>}
      {job.holders.length > 0 && (
        <span>
          {' '}
          {jobText(language, 'holders')}: {job.holders.map(({ holder }) => holder ?? '–').join(', ')}.
        </span>
      )}
      {doNotStart?.ranAnyway !== undefined && (
        <span>
          {' '}
          {jobText(language, 'ran', { time: timeText(doNotStart.ranAnyway, language, line?.timeZone ?? 'UTC') })} {doNotStart.ranAnywayText}
        </span>
      )}{' '}
      <a class="touch" href={hashOf({ view: 'job', query: { job: job.id } })}>{jobText(language, 'open')}</a>
    </p>
  )
}

/** How long it stands. A simulated line's clock is that of its data. */
function Clock({ since, now, language }: { readonly since: string; readonly now: string | undefined; readonly language: Language }) {
  const [, tick] = useState(0)
  useEffect(() => {
    const timer = setInterval(() => tick((count) => count + 1), CLOCK_MS)
    return () => clearInterval(timer)
  }, [])
  const passed = Math.max(0, Math.floor(((now === undefined ? Date.now() : Date.parse(now)) - Date.parse(since)) / 60_000))
  const words = passed < 60 ? jobText(language, 'minutes', { minutes: passed }) : jobText(language, 'hours', { hours: Math.floor(passed / 60), minutes: passed % 60 })
  return (
    <span class="clock">
      ({jobText(language, 'for')} {words})
    </span>
  )
}
