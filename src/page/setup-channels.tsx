import { useState } from 'preact/hooks'
import { guessColumns } from './history-columns.js'
import type { ChannelView } from './own-history-client.js'
import { setupApi, type SeenTopic } from './setup-client.js'
import { timeInPayload, valueInPayload, withValue, type Draft } from './setup-draft.js'
import { TextField, NumberField, type FieldContext } from './setup-fields.js'
import { setupText } from './setup-texts.js'
import type { Language } from './texts.js'

interface ChannelEntry {
  readonly channel?: string
  readonly topic?: string
}

const ZONES_MAX = 12

/** The channels of a line: bound by hand, or picked from what a broker is heard to publish. */
export function ChannelsPart({ at, channels, broker }: { readonly at: FieldContext; readonly channels: readonly ChannelView[]; readonly broker: string }) {
  const { draft, language, onChange } = at
  const entries = (draft['channels'] as readonly ChannelEntry[] | undefined) ?? []
  const replace = (next: readonly unknown[]): void => onChange(withValue(draft, 'channels', next.length === 0 ? undefined : next))
  return (
    <fieldset>
      <legend>{setupText(language, 'channels')}</legend>
      {entries.length === 0 && <p class="soft">{setupText(language, 'channels-none')}</p>}
      {entries.map((entry, index) => (
        <div key={index} class="field-row">
          <label class="field">
            {setupText(language, 'channel')}
            <ChannelSelect channels={channels} language={language} value={entry.channel ?? ''} onChange={(channel) => onChange(withValue(draft, `channels[${index}].channel`, channel))} />
          </label>
          <TextField at={at} path={`channels[${index}].topic`} label={setupText(language, 'topic')} {...(entry.topic?.includes('{n}') === true ? { hint: setupText(language, 'topic-hint', { part: '{n}' }) } : {})} />
          <TextField at={at} path={`channels[${index}].payload.value`} label={setupText(language, 'value')} />
          <TextField at={at} path={`channels[${index}].payload.time`} label={setupText(language, 'time')} hint={setupText(language, 'time-hint')} />
          <TextField at={at} path={`channels[${index}].unit`} label={setupText(language, 'unit')} />
          <NumberField at={at} path={`channels[${index}].periodS`} label={setupText(language, 'period')} />
          <button type="button" onClick={() => replace(entries.filter((_, other) => other !== index))}>
            {setupText(language, 'remove')}
          </button>
        </div>
      ))}
      <p class="actions">
        <button type="button" onClick={() => replace([...entries, { channel: 'conveyor.speed' }])}>
          {setupText(language, 'add')}
        </button>
      </p>
      <Heard at={at} channels={channels} broker={broker} onBind={(entry) => replace([...entries, entry])} />
    </fieldset>
  )
}

interface HeardProps {
  readonly at: FieldContext
  readonly channels: readonly ChannelView[]
  readonly broker: string
  readonly onBind: (entry: Draft) => void
}

function Heard({ at, channels, broker, onBind }: HeardProps) {
  const { draft, language } = at
  const [topics, setTopics] = useState<readonly SeenTopic[]>()
  const [listening, setListening] = useState(false)
  const [failure, setFailure] = useState('')
  const bound = new Set(((draft['channels'] as readonly ChannelEntry[] | undefined) ?? []).map(({ topic }) => topic))
  const listen = async (): Promise<void> => {
    setListening(true)
    setFailure('')
    try {
      setTopics(await setupApi.topics(broker))
    } catch (error) {
      setFailure(error instanceof Error ? error.message : String(error))
    }
    setListening(false)
  }
  return (
    <>
      <p class="actions">
        <button type="button" disabled={listening || broker === ''} onClick={() => void listen()}>
          {setupText(language, listening ? 'listening' : 'listen')}
        </button>
        {failure !== '' && <span role="alert">{failure}</span>}
      </p>
      {topics !== undefined && topics.length === 0 && <p class="empty">{setupText(language, 'heard-none')}</p>}
      {topics !== undefined && topics.length > 0 && (
        <div class="scroll">
          <table>
            <caption>{setupText(language, 'heard')}</caption>
            <thead>
              <tr>
                <th scope="col">{setupText(language, 'topic')}</th>
                <th scope="col">{setupText(language, 'last-value')}</th>
                <th scope="col">{setupText(language, 'bind')}</th>
              </tr>
            </thead>
            <tbody>
              {topics
                .filter(({ topic }) => !bound.has(topic))
                .map((seen) => (
                  <HeardRow key={seen.topic} seen={seen} channels={channels} at={at} onBind={onBind} />
                ))}
            </tbody>
          </table>
        </div>
      )}
    </>
  )
}

function HeardRow({ seen, channels, at, onBind }: { readonly seen: SeenTopic; readonly channels: readonly ChannelView[]; readonly at: FieldContext; readonly onBind: (entry: Draft) => void }) {
  const found = valueInPayload(seen.payload)
  const [guess] = guessColumns([seen.topic.replaceAll('/', ' ')], undefined)
  const [channel, setChannel] = useState(guess?.channel ?? '')
  return (
    <tr>
      <th scope="row">{seen.topic}</th>
      <td class="payload">{found?.value ?? seen.payload}</td>
      <td class="actions">
        <ChannelSelect channels={channels} language={at.language} value={channel} onChange={setChannel} />
        <button type="button" disabled={channel === ''} onClick={() => onBind({ channel, topic: seen.topic, ...(found === undefined || found.path === '' ? {} : { payload: { value: found.path, ...timeInPayload(seen.payload) } }) })}>
          {setupText(at.language, 'bind')}
        </button>
      </td>
    </tr>
  )
}

function ChannelSelect({ channels, language, value, onChange }: { readonly channels: readonly ChannelView[]; readonly language: Language; readonly value: string; readonly onChange: (channel: string) => void }) {
  const options = channels.flatMap(({ pattern, title }) => {
    if (pattern.includes('<n>') && value.includes('{n}') && pattern.replace('<n>', '{n}') === value) return [{ id: value, words: setupText(language, 'numbered', { title }) }]
    if (pattern.includes('<n>')) return Array.from({ length: ZONES_MAX }, (_, index) => ({ id: pattern.replace('<n>', String(index + 1)), words: `${title} ${index + 1}` }))
    return pattern.includes('<') ? [] : [{ id: pattern, words: title }]
  })
  const known = value === '' || options.some(({ id }) => id === value)
  return (
    <select value={value} onChange={(event) => onChange(event.currentTarget.value)}>
      <option value="">–</option>
      {(known ? options : [...options, { id: value, words: value }]).map(({ id, words }) => (
        <option key={id} value={id}>
          {words}
        </option>
      ))}
    </select>
  )
}
