import { useState } from 'preact/hooks'
import { api } from './api-client.js'
import type { LineSummary } from './api-types.js'
import { numberText, timeText } from './format.js'
import { intervalApi, type ProofView } from './interval-client.js'
import { intervalText, type IntervalTextKey } from './interval-texts.js'
import { useAnswer } from './page-state.js'
import type { ScreenProps } from './screen.js'
import { text, type Language } from './texts.js'

interface ListProps {
  readonly line: LineSummary
  readonly language: Language
  readonly news: ScreenProps['news']
}

/** Whether recorded work helped, the last first, and what the references of the sections are worth. */
export function ProofList({ line, language, news }: ListProps) {
  const { answer, failure } = useAnswer(() => intervalApi.proofs(line.line, language), [line.line, language, news.fact])
  const say = (key: IntervalTextKey): string => intervalText(language, key)
  const references = (answer?.references ?? []).filter(({ words }) => words !== '')
  return (
    <>
      <section aria-labelledby="proof-title">
        <h2 id="proof-title">{say('proof-title')}</h2>
        {failure !== undefined && <p class="act">{failure}</p>}
        {answer?.proofs.length === 0 && <p class="empty">{say('proof-none')}</p>}
        <ul class="plain">
          {newestUnseen(answer?.proofs ?? []).map((proof) => (
            <li key={proof.id} class="interval-item" data-proof={proof.verdict}>
              <ProofLine proof={proof} line={line} language={language} />
            </li>
          ))}
        </ul>
      </section>
      {references.length > 0 && (
        <section aria-labelledby="reference-title">
          <h2 id="reference-title">{say('reference-title')}</h2>
          <p class="soft measure">{say('reference-lead')}</p>
          <ul class="plain">
            {references.map((reference) => (
              <li key={reference.id} class={reference.provisional ? 'interval-item provisional' : 'interval-item'}>
                <strong>
                  {text(language, `section.${reference.section}`)}
                  {reference.zone !== undefined && `, ${text(language, 'zone')} ${reference.zone}`}
                </strong>
                : {reference.words}
              </li>
            ))}
          </ul>
        </section>
      )}
    </>
  )
}

/** What no sensor sees is said once of each job, of the newest. */
function newestUnseen(proofs: readonly ProofView[]): readonly ProofView[] {
  const said = new Set<string>()
  return proofs.filter(({ verdict, title, zone }) => {
    if (verdict !== 'no-channel') return true
    const key = `${title} ${zone ?? ''}`
    if (said.has(key)) return false
    said.add(key)
    return true
  })
}

/** One job and what came of it: the verdict in words, why, and on request what was compared. */
export function ProofLine({ proof, line, language }: { readonly proof: ProofView; readonly line: LineSummary; readonly language: Language }) {
  const say = (key: IntervalTextKey): string => intervalText(language, key)
  const { title, zone, verdict, verdictText, reasons, done, compared } = proof
  const number = (value: number): string => numberText(value, language)
  return (
    <>
      <p class="interval-head">
        <strong>
          {title}
          {zone !== undefined && `, ${text(language, 'zone')} ${zone}`}
        </strong>{' '}
        <span class="soft">{timeText(done, language, line.timeZone)}</span>
      </p>
      <p>
        <b class={verdict === 'helped' ? 'done' : undefined}>
          {verdict === 'helped' && '✓ '}
          {verdictText}.
        </b>{' '}
        {reasons.join(' ')}
      </p>
      {proof.offersReference.length > 0 && <OfferedReference proof={proof} line={line.line} language={language} />}
      {compared.length > 0 && (
        <details>
          <summary>{say('proof-compared')}</summary>
          <div class="scroll">
            <table>
              <thead>
                <tr>
                  <th />
                  <th>{say('recipe')}</th>
                  <th>{say('before')}</th>
                  <th>{say('after')}</th>
                  <th>{say('reference')}</th>
                </tr>
              </thead>
              <tbody>
                {compared.map((one) => (
                  <tr key={`${one.feature} ${one.recipe}`}>
                    <td>{one.title}</td>
                    <td>{one.recipe}</td>
                    <td>{number(one.before)}</td>
                    <td>{number(one.after)}</td>
                    <td>{one.reference === undefined ? '–' : number(one.reference)}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
        </details>
      )}
    </>
  )
}

/** Learning anew is an engineer's decision, chart by chart as the service takes it. */
function OfferedReference({ proof, line, language }: { readonly proof: ProofView; readonly line: string; readonly language: Language }) {
  const [state, setState] = useState<'asked' | 'taken' | { readonly failure: string }>()
  const say = (key: IntervalTextKey): string => intervalText(language, key)
  const take = async (): Promise<void> => {
    setState('asked')
    try {
      for (const { feature } of proof.offersReference) await api.decideBaseline(line, { feature, decision: 'refit', reason: `better after ${proof.title}`.slice(0, 500) })
      setState('taken')
    } catch (error) {
      setState({ failure: error instanceof Error ? error.message : String(error) })
    }
  }
  if (state === 'taken') return <p class="done">✓ {say('reference-taken')}</p>
  return (
    <p class="actions">
      <button type="button" disabled={state === 'asked'} onClick={() => void take()}>
        {say('new-reference')}
      </button>
      <span class="soft">{proof.offersReference.map(({ title }) => title).join(', ')}</span>
      {typeof state === 'object' && <span class="act">{state.failure}</span>}
    </p>
  )
}
