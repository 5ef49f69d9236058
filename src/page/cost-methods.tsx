import { useState } from 'preact/hooks'
import type { LineSummary } from './api-types.js'
import { costText } from './cost-texts.js'
import { useAnswer } from './page-state.js'
import { planApi, type MethodsView } from './plan-client.js'
import type { Language } from './texts.js'

/** Ways of cleaning: the fire gate with a surface measured by hand, then what one job costs. */
export function CostMethods({ lines, language }: { readonly lines: readonly LineSummary[]; readonly language: Language }) {
  const [line, setLine] = useState(lines[0]?.line ?? '')
  const [surface, setSurface] = useState('')
  const [production, setProduction] = useState(false)
  const { answer, failure } = useAnswer(() => planApi.methods(line, language, surface, production), [line, language, surface, production])
  return (
    <div>
      <p class="soft">{costText(language, 'methods-gate')}</p>
      <div class="field-line no-print">
        <label class="field">
          {costText(language, 'line')}
          <select value={line} onChange={(event) => setLine(event.currentTarget.value)}>
            {lines.map((one) => (
              <option key={one.line} value={one.line}>
                {one.title}
              </option>
            ))}
          </select>
        </label>
        <label class="field">
          {costText(language, 'surface')}
          <input type="number" min="-50" max="600" step="any" value={surface} onInput={(event) => setSurface(event.currentTarget.value)} />
        </label>
        <label class="choice">
          <input type="checkbox" checked={production} onChange={(event) => setProduction(event.currentTarget.checked)} /> {costText(language, 'production')}
        </label>
      </div>
      {failure !== undefined && <p class="act">{failure}</p>}
      {answer !== undefined && (answer.methods.length === 0 ? <p class="empty">{costText(language, 'methods-none')}</p> : <MethodTable answer={answer} language={language} />)}
    </div>
  )
}

function MethodTable({ answer, language }: { readonly answer: MethodsView; readonly language: Language }) {
  const most = Math.max(1e-9, ...answer.methods.map(({ high = 0 }) => high))
  const heads = ['method', 'gate', 'passes', 'per-job', 'break-even'] as const
  return (
    <>
      <p>
        <strong>{answer.verdictText}</strong>
      </p>
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
            {answer.methods.map((one) => (
              <tr key={one.method} data-gate={one.gate}>
                <th scope="row">{one.method}</th>
                <td>{one.gate === 'allowed' ? one.gateText : <strong>{one.gateText}</strong>}</td>
                <td>{one.passes}</td>
                <td>
                  {one.text}
                  {one.likely !== undefined && one.low !== undefined && one.high !== undefined && (
                    <span class="bar-range" aria-hidden="true">
                      <i style={{ left: `${(one.low / most) * 100}%`, width: `${((one.high - one.low) / most) * 100}%` }} />
                      <b style={{ left: `${(one.likely / most) * 100}%` }} />
                    </span>
                  )}
                </td>
                <td>{one.breakEvenText ?? '–'}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </>
  )
}
