import { useState } from 'preact/hooks'
import { planApi, type StockView } from './plan-client.js'
import { failureText } from './plan-failure.js'
import { FormButtons } from './plan-ledger.js'
import { planText } from './plan-texts.js'
import { reportScreenText } from './report-texts.js'
import type { Language } from './texts.js'

const PAPERS = ['instruction', 'calibration', 'qualification'] as const

/** What an auditor asks for besides records: instruction in force, calibration of an instrument, qualification for a job. */
export function ReportPapers({ stock, language, onNoted }: { readonly stock: StockView; readonly language: Language; readonly onNoted: () => void }) {
  const [entering, setEntering] = useState(false)
  const say = reportScreenText
  const rows = stock.lines.flatMap((line) => line.papers.map((paper) => ({ line, paper })))
  return (
    <section aria-labelledby="papers-title">
      <h3 id="papers-title">{say(language, 'papers')}</h3>
      {rows.length === 0 && <p class="empty">{say(language, 'papers-none')}</p>}
      <ul>
        {rows.map(({ line, paper }) => (
          <li key={`${line.line} ${paper.paper} ${paper.of}`}>
            {line.title} · {paper.paper}: {paper.of} · {paper.reference} · {paper.from} – {paper.due} · {paper.overdue ? <strong class="act">{paper.state}</strong> : paper.state}
          </li>
        ))}
      </ul>
      {entering ? (
        <PaperForm stock={stock} language={language} onBack={() => setEntering(false)} onNoted={() => (setEntering(false), onNoted())} />
      ) : (
        <p class="actions no-print">
          <button type="button" onClick={() => setEntering(true)}>
            {say(language, 'paper-enter')}
          </button>
        </p>
      )}
    </section>
  )
}

function PaperForm({ stock, language, onBack, onNoted }: { readonly stock: StockView; readonly language: Language; readonly onBack: () => void; readonly onNoted: () => void }) {
  const [line, setLine] = useState(stock.lines[0]?.line ?? '')
  const [paper, setPaper] = useState<(typeof PAPERS)[number]>('instruction')
  const choices = paper === 'calibration' ? stock.instruments.map(({ instrument, title }) => ({ id: instrument, title })) : stock.works.map(({ work, title }) => ({ id: work, title }))
  const [chosen, setChosen] = useState('')
  const [fields, setFields] = useState<Readonly<Record<'reference' | 'validFrom' | 'due' | 'people', string>>>({ reference: '', validFrom: '', due: '', people: '' })
  const [refusal, setRefusal] = useState('')
  const say = reportScreenText
  const of = choices.some(({ id }) => id === chosen) ? chosen : (choices[0]?.id ?? '')
  const set = (name: keyof typeof fields) => (event: Event): void => setFields({ ...fields, [name]: (event.currentTarget as HTMLInputElement).value })
  const send = (event: Event): void => {
    event.preventDefault()
    const entry = { type: 'paper', paper, of, reference: fields.reference, validFrom: `${fields.validFrom}T00:00:00Z`, ...(fields.due === '' ? {} : { due: `${fields.due}T00:00:00Z` }), ...(paper === 'qualification' && fields.people !== '' ? { people: Number(fields.people) } : {}) }
    planApi.enter(line, entry, language).then(onNoted, (error: unknown) => setRefusal(failureText(error)))
  }
  return (
    <form class="card" onSubmit={send}>
      <div class="field-line">
        <label class="field">
          {say(language, 'line')}
          <select value={line} onChange={(event) => setLine(event.currentTarget.value)}>
            {stock.lines.map((one) => (
              <option key={one.line} value={one.line}>
                {one.title}
              </option>
            ))}
          </select>
        </label>
        <label class="field">
          {say(language, 'paper-kind')}
          <select value={paper} onChange={(event) => setPaper(PAPERS.find((known) => known === event.currentTarget.value) ?? 'instruction')}>
            {PAPERS.map((known) => (
              <option key={known} value={known}>
                {say(language, `paper.${known}`)}
              </option>
            ))}
          </select>
        </label>
        <label class="field">
          {say(language, 'paper-of')}
          <select value={of} onChange={(event) => setChosen(event.currentTarget.value)}>
            {choices.map(({ id, title }) => (
              <option key={id} value={id}>
                {title}
              </option>
            ))}
          </select>
        </label>
        <label class="field">
          {say(language, 'paper-reference')}
          <input type="text" required maxLength={80} value={fields.reference} onInput={set('reference')} />
        </label>
        <label class="field">
          {say(language, 'paper-from')}
          <input type="date" required value={fields.validFrom} onInput={set('validFrom')} />
        </label>
        <label class="field">
          {say(language, 'paper-due')}
          <input type="date" value={fields.due} onInput={set('due')} />
        </label>
        {paper === 'qualification' && (
          <label class="field">
            {say(language, 'paper-people')}
            <input type="number" min="0" max="50" step="1" value={fields.people} onInput={set('people')} />
          </label>
        )}
      </div>
      <FormButtons language={language} onBack={onBack} />
      {refusal !== '' && (
        <p class="act" role="alert">
          {planText(language, 'failed')}: {refusal}
        </p>
      )}
    </form>
  )
}
