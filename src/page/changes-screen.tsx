import { useState } from 'preact/hooks'
import { changesText } from './changes-texts.js'
import { numberText, timeText } from './format.js'
import { useAnswer } from './page-state.js'
import { timeOfField } from './plant-time.js'
import { ask } from './api-client.js'
import { rounds, type BoardsView, type ChangeView } from './round-client.js'
import type { ScreenProps } from './screen.js'
import { text, type Language } from './texts.js'

/** One list of what changed, beside the onset of a suggestion or of the settings on hold; and the boards made since. */
export function ChangesScreen({ language, line, route, news }: ScreenProps) {
  const [sent, setSent] = useState(0)
  const id = line?.line ?? ''
  const suggestion = route.query?.['suggestion']
  const { answer: view } = useAnswer(() => rounds.changes(id, language, suggestion), [id, language, suggestion, news.fact, sent])
  const { answer: boards } = useAnswer(() => rounds.boards(id, language, suggestion), [id, language, suggestion, news.fact, sent])
  if (line === undefined) return null
  const say = (key: Parameters<typeof changesText>[1], values?: Readonly<Record<string, string | number>>): string => changesText(language, key, values)
  return (
    <section aria-labelledby="changes-title" class="changes">
      <h2 id="changes-title">
        {say('title')} {line.title}
      </h2>
      <p class="measure">{say('intro')}</p>
      {view?.onset !== undefined && <p class="measure">{say('beside-onset', { time: timeText(view.onset, language, line.timeZone) })}</p>}
      {view !== undefined && view.changes.length === 0 && <p class="empty">{say('none')}</p>}
      <ol class="checks">
        {groupsOf(view?.changes ?? []).map(([change, ...more]) => (
          <ChangeLine key={change.id} change={change} more={more} language={language} timeZone={line.timeZone} />
        ))}
      </ol>
      <ChangeForm line={line.line} timeZone={line.timeZone} language={language} onSent={() => setSent(sent + 1)} />
      {boards !== undefined && <BoardList boards={boards} csv={rounds.boardsCsv(line.line, language, suggestion)} language={language} timeZone={line.timeZone} />}
      <p class="actions">
        <button type="button" onClick={() => print()}>
          {say('print')}
        </button>
      </p>
    </section>
  )
}

/** What came so often is shown once, with the others behind it. */
const OFTEN = 4

function groupsOf(changes: readonly ChangeView[]): readonly (readonly [ChangeView, ...ChangeView[]])[] {
  const key = ({ change, beforeOnset, workTitle = '', channel = '' }: ChangeView): string => [change, beforeOnset, workTitle, channel].join(' ')
  const counts = new Map<string, number>()
  for (const change of changes) counts.set(key(change), (counts.get(key(change)) ?? 0) + 1)
  const groups: [ChangeView, ...ChangeView[]][] = []
  for (const change of changes) {
    const same = (counts.get(key(change)) ?? 0) >= OFTEN ? groups.find(([first]) => key(first) === key(change)) : undefined
    if (same === undefined) groups.push([change])
    else same.push(change)
  }
  return groups
}

interface LineProps {
  readonly change: ChangeView
  /** Earlier ones of the same kind. */
  readonly more: readonly ChangeView[]
  readonly language: Language
  readonly timeZone: string
}

function ChangeLine({ change, more, language, timeZone }: LineProps) {
  const say = (key: Parameters<typeof changesText>[1], values?: Readonly<Record<string, string | number>>): string => changesText(language, key, values)
  const shown = (value: number | string | undefined): string => (typeof value === 'number' ? numberText(value, language) : (value ?? '–'))
  const where = change.section === undefined || change.section === 'line' ? [] : [text(language, `section.${change.section}`)]
  const facts = [
    ...where,
    ...(change.zone === undefined ? [] : [`${text(language, 'zone')} ${change.zone}`]),
    ...(change.channel === undefined ? [] : [change.channel]),
    ...(change.change === 'fouls-faster' ? [say('faster', { from: shown(change.from), to: shown(change.to) })] : change.from === undefined ? [] : [say('moved', { from: shown(change.from), to: shown(change.to) })]),
    ...(change.minutes === undefined ? [] : [say('minutes', { minutes: change.minutes })]),
    say(change.source),
    ...(change.by === undefined ? [] : [say('by', { by: change.by })]),
  ]
  return (
    <li class={`check ${change.beforeOnset === false ? 'is-after' : ''}`} data-change={change.change}>
      <b>{change.title}</b>
      {change.workTitle !== undefined && <>: {change.workTitle}</>} <span class="soft">{timeText(change.time, language, timeZone)}</span>
      {change.beforeOnset !== undefined && <> <span class={change.beforeOnset ? 'tag before' : 'tag'}>{change.beforeOnset ? beforeText(change.minutesBefore ?? 0, language) : say('after')}</span></>}
      <p class="soft">{facts.join(' · ')}</p>
      {change.text !== undefined && <p>{change.text}</p>}
      {more.length > 0 && (
        <details>
          <summary>{say('and-more', { count: more.length })}</summary>
          <ul>
            {more.map((other) => (
              <li key={other.id}>
                {timeText(other.time, language, timeZone)} {other.text}
              </li>
            ))}
          </ul>
        </details>
      )}
      {change.upstreamTitles !== undefined && <p>{say('upstream', { works: change.upstreamTitles.join(', ') })}</p>}
    </li>
  )
}

/** The onset is an estimate: what lies within an hour of it, a little after it too, happened about then. */
function beforeText(minutes: number, language: Language): string {
  if (minutes < 60) return changesText(language, 'before')
  const hours = minutes / 60
  const span = hours < 48 ? changesText(language, 'hours', { count: Math.round(hours) }) : changesText(language, 'days', { count: Math.round(hours / 24) })
  return changesText(language, 'before-by', { span })
}

interface KindsAnswer {
  readonly kinds: readonly { readonly kind: string; readonly title: string }[]
}

function ChangeForm({ line, timeZone, language, onSent }: { readonly line: string; readonly timeZone: string; readonly language: Language; readonly onSent: () => void }) {
  const { answer: list } = useAnswer(() => ask<KindsAnswer>(`change-kinds?lang=${language}`), [language])
  const [kind, setKind] = useState('flux-lot')
  const [words, setWords] = useState('')
  const [when, setWhen] = useState('')
  const [failure, setFailure] = useState('')
  const say = (key: Parameters<typeof changesText>[1]): string => changesText(language, key)
  const send = async (): Promise<void> => {
    try {
      await rounds.enter(line, language, { type: 'change', change: kind, ...(words.trim() === '' ? {} : { text: words.trim() }), ...(when === '' ? {} : { time: timeOfField(when, timeZone) }) })
      setWords('')
      setWhen('')
      setFailure('')
      onSent()
    } catch (error) {
      setFailure(`${say('not-taken')}: ${error instanceof Error ? error.message : String(error)}`)
    }
  }
  return (
    <details class="no-print add-change">
      <summary>{say('add')}</summary>
      <div class="field-line">
        <label class="field">
          {say('kind')}
          <select value={kind} onChange={(event) => setKind(event.currentTarget.value)}>
            {(list?.kinds ?? []).map((known) => (
              <option key={known.kind} value={known.kind}>
                {known.title}
              </option>
            ))}
          </select>
        </label>
        <label class="field wide">
          {say('words')}
          <input type="text" maxLength={2000} value={words} onInput={(event) => setWords(event.currentTarget.value)} />
        </label>
        <label class="field">
          {say('when')}
          <input type="datetime-local" value={when} onInput={(event) => setWhen(event.currentTarget.value)} />
        </label>
      </div>
      <p class="actions">
        <button type="button" class="main" onClick={() => void send()}>
          {say('save')}
        </button>
      </p>
      {failure !== '' && (
        <p class="act" role="alert">
          {failure}
        </p>
      )}
    </details>
  )
}

interface BoardListProps {
  readonly boards: BoardsView
  readonly csv: string
  readonly language: Language
  readonly timeZone: string
}

/** Boards since the onset, for quality: lots and orders first, the hours below. */
function BoardList({ boards, csv, language, timeZone }: BoardListProps) {
  const say = (key: Parameters<typeof changesText>[1], values?: Readonly<Record<string, string | number>>): string => changesText(language, key, values)
  const since = timeText(boards.since, language, timeZone)
  const names = (list: readonly string[]): string => (list.length === 0 ? say('unknown') : list.join(', '))
  return (
    <section aria-labelledby="boards-title" data-boards={boards.boards}>
      <h3 id="boards-title">{say('boards')}</h3>
      <p>{boards.boards === 0 ? say('no-boards', { time: since }) : say('boards-sum', { boards: numberText(boards.boards, language), time: since, lots: names(boards.lots), orders: names(boards.orders) })}</p>
      {boards.stretches.length > 0 && (
        <>
          <p class="actions">
            <a class="button" href={csv} download="boards.csv">
              {say('csv')}
            </a>
          </p>
          <KindTable boards={boards} language={language} />
          <details class="no-print">
            <summary>{say('by-hour')}</summary>
          <div class="scroll">
            <table>
              <thead>
                <tr>
                  {(['from', 'until', 'count', 'recipe', 'lot', 'order'] as const).map((column) => (
                    <th key={column} scope="col">
                      {say(column)}
                    </th>
                  ))}
                </tr>
              </thead>
              <tbody>
                {boards.stretches.map((stretch) => (
                  <tr key={stretch.from}>
                    <td>{timeText(stretch.from, language, timeZone)}</td>
                    <td>{timeText(stretch.until, language, timeZone)}</td>
                    <td>{stretch.boards}</td>
                    <td>{stretch.recipe}</td>
                    <td>{stretch.lot ?? '–'}</td>
                    <td>{stretch.order ?? '–'}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
          </details>
        </>
      )}
    </section>
  )
}

/** Boards by lot, order and recipe: what quality looks for. */
function KindTable({ boards, language }: { readonly boards: BoardsView; readonly language: Language }) {
  const kinds = new Map<string, { recipe: string; lot: string; order: string; count: number }>()
  for (const { recipe, lot = '–', order = '–', boards: count } of boards.stretches) {
    const key = [recipe, lot, order].join('\n')
    kinds.set(key, { recipe, lot, order, count: (kinds.get(key)?.count ?? 0) + count })
  }
  return (
    <table class="board-kinds">
      <thead>
        <tr>
          {(['lot', 'order', 'recipe', 'count'] as const).map((column) => (
            <th key={column} scope="col">
              {changesText(language, column)}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {[...kinds].map(([key, kind]) => (
          <tr key={key}>
            <td>{kind.lot}</td>
            <td>{kind.order}</td>
            <td>{kind.recipe}</td>
            <td>{numberText(kind.count, language)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  )
}
