import { useState } from 'preact/hooks'
import type { LineSummary } from './api-types.js'
import { CautionSign } from './caution-sign.js'
import { timeText } from './format.js'
import { jobs, type JobView } from './job-client.js'
import { JobStepForm } from './job-step-form.js'
import { jobText, type JobWord } from './job-words.js'
import { hashOf, useAnswer } from './page-state.js'
import { RecordForm } from './record-form.js'
import { recordText } from './record-texts.js'
import type { ScreenProps } from './screen.js'
import type { Language } from './texts.js'

/** One job on a screen of its own; the address holds its id. */
export function JobScreen({ language, route, lines, news }: ScreenProps) {
  const [acted, setActed] = useState(0)
  const id = route.query?.['job'] ?? ''
  // A card is read in the language its reader needs, whatever the page speaks.
  const [spoken, setSpoken] = useState<Language | undefined>(undefined)
  const words = spoken ?? language
  const { answer: job, failure } = useAnswer(async () => ({ found: await jobs.one(id, words) }), [id, words, news.fact, acted])
  if (failure !== undefined) return <p role="alert">{failure}</p>
  if (job === undefined) return null
  if (job.found === undefined) return <p role="alert">{jobText(language, 'not-found')}</p>
  return (
    <>
      <p class="actions no-print">
        <a class="button" href={hashOf({ view: 'shift' })}>
          {jobText(language, 'back')}
        </a>
        <button type="button" onClick={() => setSpoken(words === 'es' ? 'en-US' : 'es')}>
          {words === 'es' ? 'English' : 'Español'}
        </button>
        <button type="button" onClick={() => print()}>
          {jobText(language, 'print')}
        </button>
      </p>
      <JobCard job={job.found} line={lines?.find((line) => line.line === job.found?.line)} lines={lines} language={words} onActed={() => setActed(acted + 1)} />
    </>
  )
}

/** Why a job is not for the shift that is here: it has too few people for it. */
export function crewWords({ peopleNeeded, peopleAtWork }: JobView, language: Language): string {
  return peopleNeeded > 1 && (peopleAtWork === undefined || peopleAtWork === 1) ? jobText(language, 'alone') : jobText(language, 'too-few', { needed: peopleNeeded, here: peopleAtWork ?? 0 })
}

interface CardProps {
  readonly job: JobView
  readonly line: LineSummary | undefined
  readonly lines: readonly LineSummary[] | undefined
  readonly language: Language
  readonly onActed: () => void
}

function JobCard({ job, line, lines, language, onActed }: CardProps) {
  const [recording, setRecording] = useState(false)
  const say = (key: JobWord, values?: Readonly<Record<string, string | number>>): string => jobText(language, key, values)
  const zone = line?.timeZone ?? 'UTC'
  const taken = !['open', 'put-off'].includes(job.status)
  const closed = ['done', 'dropped'].includes(job.status)
  return (
    <article class={`card suggestion ${job.doNotStart !== undefined || job.urgency === 'urgent' ? 'act-edge' : ''}`} data-job-card={job.id} lang={language}>
      <header>
        <p class="soft">
          {line?.title ?? job.line} · {job.sectionTitle}
          {job.zone !== undefined && ` · ${say('zone')} ${job.zone}`} · {job.statusText} · {job.sourceText} · <b>{job.shortCode}</b>
        </p>
        <h3>{job.title}</h3>
        {job.doNotStart !== undefined && (
          <p class="act">
            <b>{job.doNotStart.text}</b> {say('since')} {timeText(job.doNotStart.since, language, zone)}
            {job.doNotStart.ranAnyway !== undefined && ` · ${say('ran', { time: timeText(job.doNotStart.ranAnyway, language, zone) })} ${job.doNotStart.ranAnywayText ?? ''}`}
          </p>
        )}
        {job.urgentText !== undefined && <p class="act">{job.urgentText}</p>}
        <Facts job={job} language={language} zone={zone} />
      </header>
      <section class="cautions">
        <h4>
          {say('cautions')} · {say('read-first')}
        </h4>
        <ul>
          {job.cautions.map(({ caution, text }) => (
            <li key={caution}>
              <CautionSign caution={caution} /> <span>{text}</span>
            </li>
          ))}
        </ul>
        <h4>{say('before')}</h4>
        <ol>
          {job.before.map(({ step, text }) => (
            <li key={step}>{text}</li>
          ))}
        </ol>
      </section>
      {taken && (
        <section class="work-steps">
          <h4>{say('steps')}</h4>
          <ol>
            {job.steps.map((text) => (
              <li key={text}>{text}</li>
            ))}
          </ol>
          <p class="soft">
            {say('tools')}: {job.tools.join(', ')}
          </p>
          {job.products.length > 0 && (
            <p class="soft">
              {say('products')}: {job.products.map(({ title }) => title).join(', ')}
            </p>
          )}
          <p>
            {say('verify')}: {job.verification}
          </p>
        </section>
      )}
      <JobStepForm job={job} timeZone={zone} language={language} onActed={onActed} />
      {taken && !closed && (
        <p class="actions">
          <button type="button" class={job.record === undefined ? 'main' : ''} onClick={() => setRecording(!recording)}>
            {say(recording ? 'close' : 'record-work')}
          </button>
        </p>
      )}
      {job.record !== undefined && (
        <p class="actions">
          <a class="button" href={hashOf({ view: 'records', line: job.line, query: { job: job.id } })}>
            {recordText(language, 'records-of-job')}
          </a>
        </p>
      )}
      {recording && lines !== undefined && (
        <RecordForm
          lines={lines}
          language={language}
          job={job}
          onDone={() => {
            setRecording(false)
            onActed()
          }}
        />
      )}
    </article>
  )
}

function Facts({ job, language, zone }: { readonly job: JobView; readonly language: Language; readonly zone: string }) {
  const say = (key: JobWord, values?: Readonly<Record<string, string | number>>): string => jobText(language, key, values)
  const { minutes } = job
  const parts = [
    `${say('raised')} ${timeText(job.raised, language, zone)}`,
    ...(job.until === undefined ? [] : [`${say('until')} ${timeText(job.until, language, zone)}`]),
    ...(job.by === undefined ? [] : [say('by', { name: job.by })]),
    job.peopleNeeded === 1 ? say('person') : say('people', { count: job.peopleNeeded }),
    minutes.basis === 'neglected' ? say('days', { hours: Math.round(minutes.planned / 60) }) : `${say('duration', { low: minutes.low, planned: minutes.planned })} (${minutes.records === 0 ? say('catalogue') : say('learned-from', { count: minutes.records })})`,
    ...(job.needsElectrician ? [say('electrician')] : []),
    ...(job.safety ? [say('safety')] : []),
    ...(job.forLoneShift ? [] : [crewWords(job, language)]),
    ...(job.instruction === undefined ? [] : [say('instruction', job.instruction)]),
  ]
  return (
    <>
      <p class="soft">{parts.join(' · ')}</p>
      {job.holders.length > 0 && (
        <p>
          <b>{say('holders')}:</b> {job.holders.map(({ holder, since }) => `${holder ?? '–'} (${timeText(since, language, zone)})`).join(', ')}
        </p>
      )}
      {job.dismantled !== undefined && (
        <p>
          <b>{say('dismantled')}:</b> {job.dismantled}
        </p>
      )}
      {job.part !== undefined && (
        <p>
          <b>{say('part')}:</b> {job.part}
        </p>
      )}
      {job.followUp !== undefined && <p>{say('follow', { work: job.followUp.title })}</p>}
    </>
  )
}
