import { useState } from 'preact/hooks'
import { roundText } from './format.js'
import { intervalApi, type IntervalView } from './interval-client.js'
import { IntervalCurve } from './interval-curve.js'
import { intervalText, type IntervalTextKey } from './interval-texts.js'
import { useAnswer } from './page-state.js'
import { ProofList } from './proof-list.js'
import type { ScreenProps } from './screen.js'
import { text, type Language } from './texts.js'
import './interval.css'

const SECTIONS = ['fluxer', 'preheat', 'transport', 'pot'] as const

/** How often the line needs what, and whether what was done helped. */
export function IntervalScreen({ language, line, news }: ScreenProps) {
  const id = line?.line
  const { answer: intervals, failure } = useAnswer(() => (id === undefined ? Promise.resolve([]) : intervalApi.intervals(id, language)), [id, language, news.fact])
  const say = (key: IntervalTextKey, values?: Readonly<Record<string, string | number>>): string => intervalText(language, key, values)
  if (line === undefined) return <p class="empty">{say('none')}</p>
  return (
    <>
      <section aria-labelledby="intervals-title">
        <h2 id="intervals-title">
          {say('title')}: {line.title}
        </h2>
        <p class="soft measure">{say('lead')}</p>
        {failure !== undefined && <p class="act">{failure}</p>}
        {intervals?.length === 0 && <p class="empty">{say('none')}</p>}
        <div class="interval-sections">
          {SECTIONS.map((section) => {
            const here = (intervals ?? []).filter((interval) => interval.section === section)
            return here.length === 0 ? null : (
              <section key={section} aria-labelledby={`intervals-${section}`}>
                <h3 id={`intervals-${section}`}>{text(language, `section.${section}`)}</h3>
                <ul class="plain">
                  {here.filter(isLearned).map((interval) => (
                    <IntervalItem key={interval.id} interval={interval} line={line.line} language={language} />
                  ))}
                </ul>
                <Unlearned intervals={here.filter((interval) => !isLearned(interval))} language={language} />
              </section>
            )
          })}
        </div>
      </section>
      <ProofList line={line} language={language} news={news} />
    </>
  )
}

/** Something is recorded of it, or its interval is no longer the usual one. */
function isLearned({ verdict, events, censored, ageKnown }: IntervalView): boolean {
  return verdict !== 'not-enough-history' || events + censored > 0 || ageKnown
}

/** Jobs that still go by the trade's interval, one line for all zones alike. */
function Unlearned({ intervals, language }: { readonly intervals: readonly IntervalView[]; readonly language: Language }) {
  if (intervals.length === 0) return null
  const groups = new Map<string, IntervalView[]>()
  for (const interval of intervals) groups.set(`${interval.title} ${interval.intervalText}`, [...(groups.get(`${interval.title} ${interval.intervalText}`) ?? []), interval])
  return (
    <details open={intervals.length < 12}>
      <summary>{intervalText(language, 'unlearned', { count: groups.size })}</summary>
      <ul class="plain">
        {[...groups.values()].map((group) => {
          const [first] = group
          const zones = group.flatMap(({ zone }) => zone ?? []).sort((a, b) => a - b)
          return first === undefined ? null : (
            <li key={first.id} class="interval-head" data-work={first.id}>
              <span>
                {first.title}
                {zones.length === 1 && `, ${text(language, 'zone')} ${zones[0] ?? ''}`}
                {zones.length > 1 && `, ${intervalText(language, 'zones', { zones: zones.join(', ') })}`}
              </span>{' '}
              <span class="soft">{intervalText(language, 'every', { interval: first.intervalText })}</span> {first.safety && <span class="tag">{intervalText(language, 'safety')}</span>}
            </li>
          )
        })}
      </ul>
    </details>
  )
}

interface ItemProps {
  readonly interval: IntervalView
  readonly line: string
  readonly language: Language
}

function IntervalItem({ interval, line, language }: ItemProps) {
  const [open, setOpen] = useState(false)
  const say = (key: IntervalTextKey, values?: Readonly<Record<string, string | number>>): string => intervalText(language, key, values)
  const { title, zone, intervalText: every, startText, words, safety, ageText, ageKnown, used, events, censored, rangeText, sisters } = interval
  const percent = Math.round(used * 100)
  return (
    <li class="interval-item" data-work={interval.id} data-verdict={interval.verdict}>
      <p class="interval-head">
        <strong>
          {title}
          {zone !== undefined && `, ${text(language, 'zone')} ${zone}`}
        </strong>{' '}
        <span>{say('every', { interval: every })}</span> {safety && <span class="tag">{say('safety')}</span>}
      </p>
      <p>{words}</p>
      <p class="soft">
        <span class="strokes" aria-hidden="true">
          {Array.from({ length: 10 }, (_, i) => (
            <i key={i} class={ageKnown && used >= (i + 1) / 10 ? 'inked' : ''} />
          ))}
        </span>
        {ageKnown ? say('used', { age: ageText, percent }) : say('used-unknown', { age: ageText })}
        {ageKnown && used >= 1 && (
          <>
            {' '}
            · <b>{say('over')}</b>
          </>
        )}
      </p>
      <details open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
        <summary>{say('behind')}</summary>
        <p>
          {say('usual', { interval: startText })}. {say('events', { events, censored })}.
        </p>
        {rangeText !== undefined && <p>{say('range', { range: rangeText })}</p>}
        {sisters !== undefined && <p>{say(sisters.lines === 1 ? 'sisters-one' : 'sisters', { lines: sisters.lines, interval: sisters.intervalText })}</p>}
        {open && <Curves interval={interval} line={line} language={language} />}
      </details>
    </li>
  )
}

function Curves({ interval, line, language }: ItemProps) {
  const { answer: curves, failure } = useAnswer(() => intervalApi.curves(line, interval.id), [line, interval.id, interval.events + interval.censored])
  const say = (key: IntervalTextKey, values?: Readonly<Record<string, string | number>>): string => intervalText(language, key, values)
  if (failure !== undefined) return <p class="act">{failure}</p>
  if (curves === undefined) return <p role="status">…</p>
  if (curves.predicted.length === 0) return <p class="empty">{say('curve-none')}</p>
  const xMax = curves.predicted.at(-1)!.age
  const number = (value: number): string => roundText(value, language, 3)
  const common = { unit: say('curve-age', { unit: say(`unit-${interval.scale}`) }), xMax, mark: { x: interval.interval, label: say('present') }, number }
  const observed = [{ x: 0, y: 1 }, ...curves.observed.map(({ age, share }) => ({ x: age, y: share }))]
  return (
    <div class="interval-curves">
      <IntervalCurve {...common} title={say('curve-share')} yMin={0} yMax={1} lines={[{ points: [{ x: 0, y: 1 }, ...curves.predicted.map(({ age, share }) => ({ x: age, y: share }))], label: say('predicted') }, { points: observed, steps: true, dashed: true, label: say('observed') }]} />
      <IntervalCurve {...common} title={say('curve-cost')} yMin={1} yMax={3} lines={[{ points: curves.cost.filter(({ ratio }) => ratio <= 3).map(({ age, ratio }) => ({ x: age, y: ratio })), label: say('curve-cost') }]} />
    </div>
  )
}
