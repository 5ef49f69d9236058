import { useState } from 'preact/hooks'
import { useAnswer } from './page-state.js'
import { timeOfField } from './plant-time.js'
import { planApi } from './plan-client.js'
import './plan-screens.css'
import { ReportPapers } from './report-papers.js'
import { reportScreenText } from './report-texts.js'
import type { ScreenProps } from './screen.js'
import type { Language } from './texts.js'

const KINDS = ['hand-over', 'week', 'audit'] as const

/** Chooses a report and shows it as it prints. */
export function ReportScreen({ language, route, lines, news }: ScreenProps) {
  const [kind, setKind] = useState<(typeof KINDS)[number]>(KINDS.find((known) => known === route.query?.['kind']) ?? 'hand-over')
  const [line, setLine] = useState(route.line ?? '')
  const [from, setFrom] = useState('')
  const [until, setUntil] = useState('')
  const [noted, setNoted] = useState(0)
  const { answer: stock } = useAnswer(() => planApi.stock(language), [language, news.fact, noted])
  const [written, setWritten] = useState<Language>(language)
  const say = reportScreenText
  // Of several lines the report is told in the first one's time.
  const timeZone = (lines?.find((one) => one.line === line) ?? lines?.[0])?.timeZone ?? 'UTC'
  const query = new URLSearchParams({ kind, lang: written, ...(line === '' ? {} : { line }), ...(from === '' ? {} : { from: timeOfField(from, timeZone) }), ...(until === '' ? {} : { to: timeOfField(until, timeZone) }) }).toString()
  return (
    <section aria-labelledby="report-title">
      <h2 id="report-title">{say(language, 'title')}</h2>
      <p class="soft">{say(language, 'intro')}</p>
      <div class="field-line no-print">
        <label class="field">
          {say(language, 'kind')}
          <select value={kind} onChange={(event) => setKind(KINDS.find((known) => known === event.currentTarget.value) ?? 'hand-over')}>
            {KINDS.map((known) => (
              <option key={known} value={known}>
                {say(language, `kind.${known}`)}
              </option>
            ))}
          </select>
        </label>
        <label class="field">
          {say(language, 'line')}
          <select value={line} onChange={(event) => setLine(event.currentTarget.value)}>
            <option value="">{say(language, 'all-lines')}</option>
            {(lines ?? []).map((one) => (
              <option key={one.line} value={one.line}>
                {one.title}
              </option>
            ))}
          </select>
        </label>
        <label class="field">
          {say(language, 'from')}
          <input type="datetime-local" value={from} onInput={(event) => setFrom(event.currentTarget.value)} />
        </label>
        <label class="field">
          {say(language, 'until')}
          <input type="datetime-local" value={until} onInput={(event) => setUntil(event.currentTarget.value)} />
        </label>
        <label class="field">
          {say(language, 'language')}
          <select value={written} onChange={(event) => setWritten(event.currentTarget.value === 'es' ? 'es' : 'en-US')}>
            <option value="en-US">English</option>
            <option value="es">Español</option>
          </select>
        </label>
      </div>
      <p class="soft">{say(language, 'usual')}</p>
      <p class="actions no-print">
        <a class="button" href={`./api/report?${query}`} target="_blank" rel="noopener">
          {say(language, 'open')}
        </a>
        <a class="button" href={`./api/report.csv?${query}`} download>
          {say(language, 'csv')}
        </a>
      </p>
      {kind === 'audit' && stock !== undefined && stock.lines.length > 0 && <ReportPapers stock={stock} language={language} onNoted={() => setNoted(noted + 1)} />}
      <iframe key={noted} class="report-frame" title={say(language, 'preview')} src={`./api/report?${query}`} sandbox="allow-same-origin" />
    </section>
  )
}
