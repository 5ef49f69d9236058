import { useState } from 'preact/hooks'
import { planApi, type StockView } from './plan-client.js'
import { failureText } from './plan-failure.js'
import { FormButtons } from './plan-ledger.js'
import { planText } from './plan-texts.js'
import type { Language } from './texts.js'

/** Spare sets and parts: what is ready, dirty, at the washer; a count takes three numbers. */
export function PlanStock({ stock, timeZone, language, onNoted }: { readonly stock: StockView; readonly timeZone: string; readonly language: Language; readonly onNoted: () => void }) {
  const [counting, setCounting] = useState(false)
  const [refusal, setRefusal] = useState('')
  const counted = stock.lines.filter((line) => line.stock.length > 0)
  return (
    <section aria-labelledby="stock-title">
      <h3 id="stock-title">{planText(language, 'stock')}</h3>
      {counted.length === 0 && <p class="empty">{planText(language, 'stock-none')}</p>}
      {counted.map((line) => (
        <div key={line.line} class="scroll">
          <table>
            <caption class="soft">{line.title}</caption>
            <thead>
              <tr>
                <th scope="col">{planText(language, 'stock-item')}</th>
                <th scope="col">{planText(language, 'stock-ready')}</th>
                <th scope="col">{planText(language, 'stock-dirty')}</th>
                <th scope="col">{planText(language, 'stock-washer')}</th>
                <th scope="col">{planText(language, 'stock-counted')}</th>
                {line.stock.some(({ isSet }) => isSet) && <th scope="col">{planText(language, 'stock-done')}</th>}
              </tr>
            </thead>
            <tbody>
              {line.stock.map((item) => (
                <tr key={item.item}>
                  <th scope="row">{item.title}</th>
                  <td>{item.ready}</td>
                  <td>{item.dirty}</td>
                  <td>{item.atWasher}</td>
                  <td>
                    {day(item.counted, language, timeZone)}
                    {item.moves > 0 && <span class="soft"> · {planText(language, 'stock-moves', { moves: String(item.moves) })}</span>}
                  </td>
                  {line.stock.some(({ isSet }) => isSet) && (
                    <td>
                      {item.isSet && item.dirty > 0 && <MoveButton line={line.line} item={item} move="to-washer" language={language} onNoted={onNoted} onRefused={setRefusal} />}
                      {item.isSet && item.atWasher > 0 && <MoveButton line={line.line} item={item} move="back-clean" language={language} onNoted={onNoted} onRefused={setRefusal} />}
                    </td>
                  )}
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      ))}
      {counted.length > 0 && <p class="soft">{planText(language, 'stock-how')}</p>}
      {refusal !== '' && (
        <p class="act" role="alert">
          {planText(language, 'failed')}: {refusal}
        </p>
      )}
      {counting ? (
        <CountForm stock={stock} language={language} onBack={() => setCounting(false)} onNoted={() => (setCounting(false), onNoted())} />
      ) : (
        <p class="actions">
          <button type="button" onClick={() => setCounting(true)}>
            {planText(language, 'count')}
          </button>
        </p>
      )}
    </section>
  )
}

function day(time: string, language: Language, timeZone: string): string {
  return new Intl.DateTimeFormat(language, { day: 'numeric', month: 'short', timeZone }).format(new Date(time))
}

/** One set further on its way: dirty, at the washer, clean on the shelf. */
function MoveButton({ line, item, move, language, onNoted, onRefused }: { readonly line: string; readonly item: StockView['lines'][number]['stock'][number]; readonly move: 'to-washer' | 'back-clean'; readonly language: Language; readonly onNoted: () => void; readonly onRefused: (text: string) => void }) {
  const send = (): void => {
    planApi.enter(line, { type: 'stock', item: item.item, move }, language).then(() => (onRefused(''), onNoted()), (error: unknown) => onRefused(failureText(error)))
  }
  return (
    <button type="button" onClick={send} aria-label={`${item.title}: ${planText(language, move)}`}>
      {planText(language, move)}
    </button>
  )
}

function CountForm({ stock, language, onBack, onNoted }: { readonly stock: StockView; readonly language: Language; readonly onBack: () => void; readonly onNoted: () => void }) {
  const [line, setLine] = useState(stock.lines[0]?.line ?? '')
  const [item, setItem] = useState(stock.items[0]?.item ?? '')
  const [counts, setCounts] = useState({ ready: '1', dirty: '0', atWasher: '0' })
  const [refusal, setRefusal] = useState('')
  const send = (event: Event): void => {
    event.preventDefault()
    planApi.enter(line, { type: 'stock', item, ready: Number(counts.ready), dirty: Number(counts.dirty), atWasher: Number(counts.atWasher) }, language).then(onNoted, (error: unknown) => setRefusal(failureText(error)))
  }
  const labels = { ready: 'stock-ready', dirty: 'stock-dirty', atWasher: 'stock-washer' } as const
  return (
    <form class="card" onSubmit={send}>
      <div class="field-line">
        <label class="field">
          {planText(language, 'line')}
          <select value={line} onChange={(event) => setLine(event.currentTarget.value)}>
            {stock.lines.map((one) => (
              <option key={one.line} value={one.line}>
                {one.title}
              </option>
            ))}
          </select>
        </label>
        <label class="field">
          {planText(language, 'stock-item')}
          <select value={item} onChange={(event) => setItem(event.currentTarget.value)}>
            {stock.items.map((one) => (
              <option key={one.item} value={one.item}>
                {one.title}
              </option>
            ))}
          </select>
        </label>
        {(['ready', 'dirty', 'atWasher'] as const).map((name) => (
          <label key={name} class="field">
            {planText(language, labels[name])}
            <input type="number" min="0" step="1" required value={counts[name]} onInput={(event) => setCounts({ ...counts, [name]: event.currentTarget.value })} />
          </label>
        ))}
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
