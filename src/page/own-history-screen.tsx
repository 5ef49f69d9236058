import { useEffect, useState } from 'preact/hooks'
import { guessColumns, periodOf, previewOf, timeColumnOf, type TablePreview } from './history-columns.js'
import { HistoryReport } from './own-history-report.js'
import { historyApi, type ChannelView, type HistoryState } from './own-history-client.js'
import { historyText } from './own-history-texts.js'
import { hashOf, useAnswer } from './page-state.js'
import type { ScreenProps } from './screen.js'
import type { Language } from './texts.js'

const HEAD_BYTES = 262_144
const ASK_EVERY_MS = 700
const ZONES_MAX = 12

/** Drop old telemetry, say which column is what, and read what this would have told. */
export function OwnHistoryScreen({ language, route }: ScreenProps) {
  const id = route.query?.['history']
  return id === undefined ? <Begin language={language} /> : <Progress key={id} id={id} language={language} />
}

function Begin({ language }: { readonly language: Language }) {
  const [file, setFile] = useState<File>()
  const [preview, setPreview] = useState<TablePreview>()
  const [over, setOver] = useState(false)
  const { answer: earlier } = useAnswer(historyApi.list, [file])
  const take = async (chosen: File | undefined): Promise<void> => {
    if (chosen === undefined) return
    setPreview(previewOf(await chosen.slice(0, HEAD_BYTES).text()))
    setFile(chosen)
  }
  return (
    <section aria-labelledby="history-title">
      <h2 id="history-title">{historyText(language, 'title')}</h2>
      {file === undefined || preview === undefined ? (
        <>
          <p class="measure">{historyText(language, 'intro')}</p>
          <label
            class={`drop ${over ? 'drop-over' : ''}`}
            onDragOver={(event) => {
              event.preventDefault()
              setOver(true)
            }}
            onDragLeave={() => setOver(false)}
            onDrop={(event) => {
              event.preventDefault()
              setOver(false)
              void take(event.dataTransfer?.files[0])
            }}
          >
            <input type="file" class="unseen-input" accept=".csv,.txt,.tsv,text/csv" onChange={(event) => void take(event.currentTarget.files?.[0])} />
            <span class="button main">{historyText(language, 'choose')}</span> {historyText(language, 'drop')}
          </label>
          <Earlier histories={(earlier ?? []).filter(({ status }) => status !== 'waiting-for-file')} language={language} />
        </>
      ) : (
        <Columns file={file} preview={preview} language={language} onOther={() => setFile(undefined)} />
      )}
    </section>
  )
}

function Earlier({ histories, language }: { readonly histories: readonly HistoryState[]; readonly language: Language }) {
  const [gone, setGone] = useState<readonly string[]>([])
  const kept = histories.filter(({ id }) => !gone.includes(id))
  if (kept.length === 0) return null
  return (
    <section>
      <h3>{historyText(language, 'earlier')}</h3>
      <ul class="plain">
        {kept.map(({ id, fileName }) => (
          <li key={id} class="actions">
            <span>{fileName}</span>
            <a class="button" href={hashOf({ view: 'own-history', query: { history: id } })}>
              {historyText(language, 'open')}
            </a>
            <button type="button" onClick={() => void historyApi.remove(id).then(() => setGone([...gone, id]))}>
              {historyText(language, 'remove')}
            </button>
          </li>
        ))}
      </ul>
    </section>
  )
}

interface ColumnsProps {
  readonly file: File
  readonly preview: TablePreview
  readonly language: Language
  readonly onOther: () => void
}

interface Choice {
  readonly channel: string
  readonly unit: string
}

function Columns({ file, preview, language, onOther }: ColumnsProps) {
  const { answer: channels } = useAnswer(() => historyApi.channels(language), [language])
  const [timeColumn, setTimeColumn] = useState(timeColumnOf(preview) ?? '')
  const [choices, setChoices] = useState<Readonly<Record<string, Choice>>>(() => Object.fromEntries(guessColumns(preview.columns, timeColumnOf(preview)).map(({ column, channel, unit }) => [column, { channel: channel ?? '', unit: unit ?? '' }])))
  const [timeZone, setTimeZone] = useState(Intl.DateTimeFormat().resolvedOptions().timeZone)
  const [periodS, setPeriodS] = useState(String(periodOf(preview, timeColumnOf(preview) ?? '') ?? 60))
  const [share, setShare] = useState<number>()
  const [failure, setFailure] = useState('')
  const say = (key: Parameters<typeof historyText>[1]): string => historyText(language, key)
  const chosen = Object.entries(choices).filter(([column, { channel }]) => channel !== '' && column !== timeColumn)
  const start = async (): Promise<void> => {
    setFailure('')
    if (timeColumn === '' || chosen.length === 0) {
      setFailure(say(timeColumn === '' ? 'no-time' : 'no-columns'))
      return
    }
    try {
      const columns = chosen.map(([column, { channel, unit }]) => ({ column, channel, ...(unit === '' ? {} : { unit }) }))
      const { id } = await historyApi.begin({ fileName: file.name, timeZone, timeColumn, periodS: Number(periodS), columns })
      setShare(0)
      await historyApi.send(id, file, setShare)
      location.hash = hashOf({ view: 'own-history', query: { history: id } })
    } catch (error) {
      setShare(undefined)
      setFailure(error instanceof Error ? error.message : String(error))
    }
  }
  return (
    <>
      <h3>
        {file.name}: {say('columns')}
      </h3>
      <div class="scroll">
        <table>
          <tbody>
            {preview.columns.map((column, index) => (
              <ColumnRow
                key={column}
                column={column}
                first={preview.rows.map((row) => row[index] ?? '').filter((cell) => cell !== '').slice(0, column === timeColumn ? 1 : 3)}
                isTime={column === timeColumn}
                choice={choices[column] ?? { channel: '', unit: '' }}
                channels={channels ?? []}
                language={language}
                onTime={() => setTimeColumn(column)}
                onChange={(choice) => {
                  if (column === timeColumn) setTimeColumn('')
                  setChoices({ ...choices, [column]: choice })
                }}
              />
            ))}
          </tbody>
        </table>
      </div>
      <p class="actions">
        <label>
          {say('zone')} <input value={timeZone} size={20} onInput={(event) => setTimeZone(event.currentTarget.value)} />
        </label>
        <label>
          {say('period')} <input type="number" min="0.1" step="any" value={periodS} size={8} onInput={(event) => setPeriodS(event.currentTarget.value)} />
        </label>
      </p>
      {failure !== '' && (
        <p class="act" role="alert">
          {say('failed')}: {failure}
        </p>
      )}
      {share === undefined ? (
        <p class="actions">
          <button type="button" class="main" onClick={() => void start()}>
            {say('start')}
          </button>
          <button type="button" onClick={onOther}>
            {say('another-file')}
          </button>
        </p>
      ) : (
        <Bar words={say('sending')} share={share} />
      )}
    </>
  )
}

interface ColumnRowProps {
  readonly column: string
  readonly first: readonly string[]
  readonly isTime: boolean
  readonly choice: Choice
  readonly channels: readonly ChannelView[]
  readonly language: Language
  readonly onTime: () => void
  readonly onChange: (choice: Choice) => void
}

function ColumnRow({ column, first, isTime, choice, channels, language, onTime, onChange }: ColumnRowProps) {
  const pattern = patternOf(choice.channel)
  const known = channels.find((channel) => channel.pattern === pattern)
  return (
    <tr>
      <th scope="row">{column}</th>
      <td class="soft">{first.filter((cell) => cell !== '').join(' · ')}</td>
      <td>
        <select
          aria-label={`${column}: ${historyText(language, 'channel')}`}
          value={isTime ? 'time' : choice.channel}
          onChange={(event) => {
            if (event.currentTarget.value === 'time') onTime()
            else onChange({ channel: event.currentTarget.value, unit: choice.unit })
          }}
        >
          <option value="">{historyText(language, 'left-out')}</option>
          <option value="time">{historyText(language, 'time')}</option>
          {optionsOf(channels, choice.channel).map(({ value, words }) => (
            <option key={value} value={value}>
              {words}
            </option>
          ))}
        </select>
      </td>
      <td>
        {!isTime && known !== undefined && known.units.length > 0 && (
          <select aria-label={`${column}: ${historyText(language, 'unit')}`} value={choice.unit === '' ? known.unit : choice.unit} onChange={(event) => onChange({ ...choice, unit: event.currentTarget.value })}>
            {known.units.map((unit) => (
              <option key={unit} value={unit}>
                {unit}
              </option>
            ))}
          </select>
        )}
      </td>
    </tr>
  )
}

function patternOf(channel: string): string {
  return channel.replace(/zone-\d+/, 'zone-<n>').replace(/^custom\..+/, 'custom.<name>')
}

/** Every channel, those of zones once for each zone; one of the site's own keeps its name. */
function optionsOf(channels: readonly ChannelView[], chosen: string): { value: string; words: string }[] {
  const options = channels.flatMap(({ pattern, title }) => {
    if (pattern.includes('<n>')) return Array.from({ length: ZONES_MAX }, (_, index) => ({ value: pattern.replace('<n>', String(index + 1)), words: `${title} ${index + 1}` }))
    if (pattern.includes('<')) return []
    return [{ value: pattern, words: title }]
  })
  return chosen === '' || options.some(({ value }) => value === chosen) ? options : [...options, { value: chosen, words: chosen }]
}

function Progress({ id, language }: { readonly id: string; readonly language: Language }) {
  const [looks, setLooks] = useState(0)
  const { answer: state, failure } = useAnswer(() => historyApi.state(id), [id, looks])
  const isWorking = state !== undefined && (state.status === 'running' || state.status === 'receiving')
  useEffect(() => {
    if (!isWorking) return
    const timer = setTimeout(() => setLooks(looks + 1), ASK_EVERY_MS)
    return () => clearTimeout(timer)
  }, [isWorking, looks])
  const back = (
    <a class="button" href={hashOf({ view: 'own-history' })}>
      {historyText(language, 'another-file')}
    </a>
  )
  if (failure !== undefined || state?.status === 'failed') {
    return (
      <>
        <p class="act" role="alert">
          {historyText(language, 'failed')}: {state?.message ?? failure}
        </p>
        {back}
      </>
    )
  }
  if (state?.status !== 'done') return <Bar words={`${historyText(language, 'working')} ${state?.time ?? ''}`} share={state?.share ?? 0} />
  return <HistoryReport state={state} language={language} back={back} />
}

function Bar({ words, share }: { readonly words: string; readonly share: number }) {
  return (
    <p role="status">
      {words}
      <br />
      <progress max={1} value={share} /> {Math.round(share * 100)} %
    </p>
  )
}
