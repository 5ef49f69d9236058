import { CostMethods } from './cost-methods.js'
import { costText } from './cost-texts.js'
import { numberText } from './format.js'
import { useAnswer } from './page-state.js'
import { planApi, type CostView } from './plan-client.js'
import './plan-screens.css'
import type { ScreenProps } from './screen.js'
import { text, type Language } from './texts.js'

/** What it cost, and what earlier cleaning would have saved. */
export function CostScreen({ language, lines, news }: ScreenProps) {
  const { answer: cost, failure } = useAnswer(() => planApi.cost(language), [language, news.fact, news.suggestion])
  if (cost === undefined) return <p role="status">{failure ?? text(language, 'page.loading')}</p>
  return (
    <section aria-labelledby="cost-title">
      <h2 id="cost-title">{costText(language, 'title')}</h2>
      {failure !== undefined && <p class="act">{failure}</p>}
      <p class="soft measure">{costText(language, 'intro')}</p>
      {cost.rows.length === 0 && <p class="empty">{costText(language, 'none')}</p>}
      {cost.rows.length > 0 && (
        <>
          <p class="big">{costText(language, 'total', { total: cost.totalText })}</p>
          {cost.missing.length > 0 && <p class="unseen measure">{costText(language, 'missing', { figures: cost.missingTexts.join(', ') })}</p>}
          <h3>{costText(language, 'by-kind')}</h3>
          <KindBars cost={cost} language={language} />
          <details>
            <summary>{costText(language, 'by-month')}</summary>
            <MonthTable cost={cost} language={language} />
          </details>
          <p class="actions no-print">
            <a class="button" href={planApi.costCsvUrl(language)} download>
              {costText(language, 'csv')}
            </a>
          </p>
        </>
      )}
      <h3>{costText(language, 'earlier')}</h3>
      {cost.earlier.length === 0 && <p class="empty">{costText(language, 'earlier-none')}</p>}
      <ul class="plain">
        {cost.earlier.map((one) => (
          <li key={one.suggestion} class="card">
            <p>
              <strong>{one.text}</strong> · {one.title}, {one.sectionTitle} · {one.events.join(', ')}
            </p>
            <p class="soft measure">{one.assumption}</p>
          </li>
        ))}
      </ul>
      <h3>{costText(language, 'methods')}</h3>
      {(lines ?? []).length > 0 && <CostMethods lines={lines ?? []} language={language} />}
    </section>
  )
}

/** One bar for each kind over all months and sections; a dotted box where a figure is missing. */
function KindBars({ cost, language }: { readonly cost: CostView; readonly language: Language }) {
  const kinds = [...new Set(cost.rows.map(({ kind }) => kind))].map((kind) => {
    const rows = cost.rows.filter((row) => row.kind === kind)
    const known = rows.filter(({ amount }) => amount !== undefined)
    return { kind, title: rows[0]!.kindTitle, amount: known.reduce((sum, { amount = 0 }) => sum + amount, 0), known: known.length > 0, unknown: rows.find(({ amount }) => amount === undefined)?.text }
  })
  const most = Math.max(1e-9, ...kinds.map(({ amount }) => amount))
  const money = new Intl.NumberFormat(language, { maximumFractionDigits: 0 })
  return (
    <dl class="bar-list">
      {kinds
        .sort((a, b) => b.amount - a.amount)
        .map(({ kind, title, amount, known, unknown }) => (
          <>
            <dt key={`${kind} name`}>{title}</dt>
            <dd key={`${kind} bar`} class="bar-track" aria-hidden="true">
              {known ? <span class="bar-ink" style={{ width: `${(amount / most) * 100}%` }} /> : <span class="bar-none" />}
            </dd>
            <dd key={`${kind} text`}>{[known ? `${money.format(amount)} ${cost.currency}` : undefined, unknown].filter((part) => part !== undefined).join(' + ')}</dd>
          </>
        ))}
    </dl>
  )
}

function MonthTable({ cost, language }: { readonly cost: CostView; readonly language: Language }) {
  const heads = ['month', 'line', 'section', 'what', 'quantity', 'cost'] as const
  return (
    <div class="scroll">
      <table>
        <thead>
          <tr>
            {heads.map((head) => (
              <th key={head} scope="col">
                {costText(language, head)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {cost.rows.map((row) => (
            <tr key={`${row.month} ${row.line} ${row.section} ${row.kind}`}>
              <td>{row.month}</td>
              <td>{row.title}</td>
              <td>{row.sectionTitle}</td>
              <td>{row.kindTitle}</td>
              <td>{numberText(row.quantity, language)}</td>
              <td>{row.text}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  )
}
