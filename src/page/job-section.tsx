import { useEffect, useState } from 'preact/hooks'
import { api } from './api-client.js'
import type { LineSummary } from './api-types.js'
import { crewWords } from './job-card.js'
import { jobs, type JobView } from './job-client.js'
import { jobText } from './job-words.js'
import { hashOf, useAnswer } from './page-state.js'
import { RecordForm } from './record-form.js'
import { recordText } from './record-texts.js'
import type { Language } from './texts.js'

interface SectionProps {
  readonly language: Language
  readonly lines: readonly LineSummary[] | undefined
  readonly news: number
}

/** Jobs of the shift in the order to do them, a card by its code, and recording work that nobody had asked for. */
export function JobSection({ language, lines, news }: SectionProps) {
  const [recording, setRecording] = useState(false)
  const { answer } = useAnswer(() => jobs.open(language), [language, news])
  const ids = (lines ?? []).map(({ line }) => line).join(' ')
  useEffect(() => {
    // Asked for now, so that work can be written down on a device that has lost its network since.
    for (const line of ids.split(' ')) if (line !== '') jobs.work(line, language).catch(() => undefined)
  }, [ids, language])
  // What waits for two is not offered to one, but said; what is put off comes back by itself. What cannot wait stands first.
  const offered = (answer ?? []).filter((job) => job.urgency === 'urgent' || (job.status !== 'put-off' && (job.status !== 'open' || job.forLoneShift)))
  const others = (answer ?? []).filter((job) => !offered.includes(job))
  return (
    <section aria-labelledby="jobs-title" class="jobs">
      <h2 id="jobs-title">{jobText(language, 'title')}</h2>
      {answer !== undefined && answer.length === 0 && <p class="empty">{jobText(language, 'none')}</p>}
      <ul class="job-list">
        {offered.map((job) => (
          <JobRow key={job.id} job={job} lines={lines} language={language} />
        ))}
        {others.map((job) => (
          <JobRow key={job.id} job={job} lines={lines} language={language} />
        ))}
      </ul>
      <p class="actions">
        <CodeForm language={language} />
        <button type="button" onClick={() => setRecording(!recording)}>
          {jobText(language, recording ? 'close' : 'record-work')}
        </button>
        {lines?.[0] !== undefined && (
          <a class="button" href={hashOf({ view: 'records', line: lines[0].line })}>
            {recordText(language, 'records')}
          </a>
        )}
      </p>
      {recording && lines !== undefined && lines.length > 0 && <RecordForm lines={lines} language={language} onDone={() => setRecording(false)} />}
    </section>
  )
}

function JobRow({ job, lines, language }: { readonly job: JobView; readonly lines: readonly LineSummary[] | undefined; readonly language: Language }) {
  const place = `${lines?.find((line) => line.line === job.line)?.title ?? job.line} · ${job.sectionTitle}${job.zone === undefined ? '' : ` · ${jobText(language, 'zone')} ${job.zone}`}`
  return (
    <li class={`job-row ${job.doNotStart !== undefined || job.urgency === 'urgent' ? 'act-edge' : ''}`} data-job={job.work}>
      <a href={hashOf({ view: 'job', query: { job: job.id } })}>{job.title}</a>
      <span class="soft">
        {place} · {job.statusText} · {jobText(language, 'duration', { low: job.minutes.low, planned: job.minutes.planned })}
        {job.needsElectrician && ` · ${jobText(language, 'electrician')}`}
        {!job.forLoneShift && ` · ${crewWords(job, language)}`} · {job.shortCode}
      </span>
      {job.doNotStart !== undefined && <b>{job.doNotStart.text}</b>}
    </li>
  )
}

function CodeForm({ language }: { readonly language: Language }) {
  const [code, setCode] = useState('')
  const [missing, setMissing] = useState(false)
  const open = async (): Promise<void> => {
    const card = await api.card(code.trim()).catch(() => undefined)
    setMissing(card === undefined || card.kind === 'none')
    if (card?.kind === 'job') location.hash = hashOf({ view: 'job', query: { job: card.id } })
    if (card?.kind === 'suggestion') location.hash = hashOf({ view: 'suggestion', query: { suggestion: card.id } })
  }
  return (
    <form
      class="code-form"
      onSubmit={(event) => {
        event.preventDefault()
        void open()
      }}
    >
      <label>
        {jobText(language, 'code')} <input name="card-code" autocomplete="off" maxLength={40} value={code} onInput={(event) => setCode(event.currentTarget.value)} />
      </label>
      <button type="submit" disabled={code.trim() === ''}>
        {jobText(language, 'find')}
      </button>
      {missing && <span role="alert">{jobText(language, 'not-found')}</span>}
    </form>
  )
}
