import { useState } from 'preact/hooks'
import type { FeatureSummary, LineSummary } from './api-types.js'
import { chartsApi, type CapabilityIndexView, type CapabilityView } from './charts-client.js'
import { chartsText } from './charts-texts.js'
import { numberText, roundText, timeText, type ShownUnit } from './format.js'
import type { Language } from './texts.js'

interface CapabilityProps {
  readonly line: LineSummary
  readonly feature: FeatureSummary
  readonly shown: ShownUnit
  readonly language: Language
}

/** Capability on request: the sentence first, or why there is none; limits are typed in the unit shown. */
export function CapabilitySection({ line, feature, shown, language }: CapabilityProps) {
  const [limits, setLimits] = useState({ lower: '', upper: '' })
  const [answer, setAnswer] = useState<CapabilityView | undefined>(undefined)
  const [failure, setFailure] = useState('')
  const ask = (event: Event): void => {
    event.preventDefault()
    const inUnit = (words: string): string => String((Number(words.replace(',', '.')) - shown.offset) / shown.factor)
    const given = Object.fromEntries(Object.entries(limits).flatMap(([name, words]) => (words.trim() === '' ? [] : [[name, inUnit(words)]])))
    chartsApi.capability(line.line, feature.feature, given).then(
      (said) => {
        setAnswer(said)
        setFailure('')
      },
      (error: unknown) => setFailure(error instanceof Error ? error.message : String(error)),
    )
  }
  const field = (name: 'lower' | 'upper') => (
    <label>
      {chartsText(language, `capability.${name}`)} ({shown.unit}) <input type="text" inputMode="decimal" size={8} value={limits[name]} onInput={(event) => setLimits({ ...limits, [name]: event.currentTarget.value })} />
    </label>
  )
  return (
    <details class="capability">
      <summary>{chartsText(language, 'capability.title')}</summary>
      <form class="actions" onSubmit={ask}>
        {field('lower')}
        {field('upper')}
        <button type="submit">{chartsText(language, 'capability.ask')}</button>
      </form>
      <div role="status">
        {failure !== '' && <p class="act">{failure}</p>}
        {answer !== undefined && failure === '' && <CapabilityWords answer={answer} language={language} timeZone={line.timeZone} />}
      </div>
    </details>
  )
}

function CapabilityWords({ answer, language, timeZone }: { readonly answer: CapabilityView; readonly language: Language; readonly timeZone: string }) {
  const { result, recipe } = answer
  const number = (value: number): string => numberText(value, language)
  switch (result.kind) {
    case 'no-limits':
    case 'no-variation':
      return <p>{chartsText(language, `capability.${result.kind}`)}</p>
    case 'too-few-values':
      return <p>{chartsText(language, 'capability.too-few-values', { n: result.valueCount, target: result.valueCountMin, recipe })}</p>
    case 'not-stable':
      return <p>{chartsText(language, 'capability.not-stable', { n: result.signalCount })}</p>
    case 'not-normal':
      return <p>{chartsText(language, 'capability.not-normal', { p: roundText(result.p, language) })}</p>
    case 'capability': {
      const index = (name: string, of: CapabilityIndexView | undefined): string[] =>
        of === undefined ? [] : [chartsText(language, 'capability.index', { name, value: number(of.value), lower: of.interval === undefined ? '–' : number(of.interval.lower), upper: of.interval === undefined ? '–' : number(of.interval.upper) })]
      const { ppk } = result
      return (
        <>
          <p>
            {chartsText(language, 'capability.plain', {
              n: result.n,
              from: timeText(answer.from, language, timeZone),
              to: timeText(answer.to, language, timeZone),
              recipe,
              ppk: number(ppk.value),
              lower: ppk.interval === undefined ? '–' : number(ppk.interval.lower),
              upper: ppk.interval === undefined ? '–' : number(ppk.interval.upper),
              ppm: roundText(result.ppmBelow + result.ppmAbove, language),
            })}
            {answer.correlated && ` ${chartsText(language, 'capability.correlated')}`}
          </p>
          <p class="soft">{[...index('Cp', result.cp), ...index('Cpk', result.cpk), ...index('Pp', result.pp), ...index('Ppk', ppk)].join(' · ')} {chartsText(language, 'capability.cp')}</p>
        </>
      )
    }
  }
}
