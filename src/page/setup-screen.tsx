import { useEffect, useState } from 'preact/hooks'
import { historyApi } from './own-history-client.js'
import { hashOf, useAnswer } from './page-state.js'
import type { ScreenProps } from './screen.js'
import { ChannelsPart } from './setup-channels.js'
import { setupApi, type SetupFacts } from './setup-client.js'
import { valueAt, withValue, type Draft, type Fault } from './setup-draft.js'
import { ChoiceField, NumberField, TextField, type FieldContext } from './setup-fields.js'
import { setupText } from './setup-texts.js'
import type { Language } from './texts.js'

const CHECK_AFTER_MS = 300
const CHECK_AGAIN_MS = 2000
const ZONES_MAX = 12
const WORKDAYS = ['mon', 'tue', 'wed', 'thu', 'fri']

/** Describe a line; where there is none yet, the three ways to begin. */
export function SetupScreen({ language, route, lines }: ScreenProps) {
  const { answer: facts } = useAnswer(setupApi.facts, [lines?.length])
  const say = (key: Parameters<typeof setupText>[1]): string => setupText(language, key)
  if (facts === undefined || lines === undefined) return <p role="status">…</p>
  const isNew = route.line === undefined
  return (
    <section aria-labelledby="setup-title">
      <h2 id="setup-title">{say('title')}</h2>
      {lines.length === 0 && isNew && <Welcome facts={facts} language={language} />}
      {isNew && lines.length > 0 && (
        <p class="actions">
          {lines.map(({ line, title }) => (
            <a key={line} class="button" href={hashOf({ view: 'setup', line })}>
              {title}
            </a>
          ))}
        </p>
      )}
      {!facts.makesLines && <p class="measure">{say('in-editor')}</p>}
      <Form key={route.line ?? ''} line={route.line} isMade={route.query?.['made'] !== undefined} facts={facts} language={language} />
    </section>
  )
}

function Welcome({ facts, language }: { readonly facts: SetupFacts; readonly language: Language }) {
  const [failure, setFailure] = useState('')
  const say = (key: Parameters<typeof setupText>[1]): string => setupText(language, key)
  const start = async (): Promise<void> => {
    try {
      await setupApi.demo()
      location.hash = hashOf({ view: 'shift' })
    } catch (error) {
      setFailure(error instanceof Error ? error.message : String(error))
    }
  }
  return (
    <>
      <p>{say('welcome')}</p>
      <div class="lines">
        {facts.makesLines && !facts.hasDemo && (
          <div class="card">
            <h3>{say('welcome-demo')}</h3>
            <p>{say('welcome-demo-text')}</p>
            <button type="button" class="main" onClick={() => void start()}>
              {say('welcome-demo-start')}
            </button>
            {failure !== '' && <p role="alert">{failure}</p>}
          </div>
        )}
        <div class="card">
          <h3>{say('welcome-history')}</h3>
          <p>{say('welcome-history-text')}</p>
          <a class="button" href={hashOf({ view: 'own-history' })}>
            {say('welcome-history')}
          </a>
        </div>
        <div class="card">
          <h3>{say('welcome-line')}</h3>
          <p>{say('welcome-line-text')}</p>
        </div>
      </div>
    </>
  )
}

interface FormProps {
  readonly line: string | undefined
  /** The line was made a moment ago. */
  readonly isMade: boolean
  readonly facts: SetupFacts
  readonly language: Language
}

function Form({ line, isMade, facts, language }: FormProps) {
  const [draft, setDraft] = useState<Draft>({ line: '', timeZone: Intl.DateTimeFormat().resolvedOptions().timeZone, machine: { zones: [{}, {}, {}] } })
  const [broker, setBroker] = useState(facts.broker ?? 'mqtt://localhost:1883')
  const [faults, setFaults] = useState<readonly Fault[]>([])
  const [said, setSaid] = useState<{ readonly words: string; readonly bad: boolean } | undefined>(isMade ? { words: setupText(language, 'made'), bad: false } : undefined)
  // What is typed before the definition has come would be lost with its coming.
  const [isLoaded, setLoaded] = useState(line === undefined)
  const { answer: channels } = useAnswer(() => historyApi.channels(language), [language])
  const say = (key: Parameters<typeof setupText>[1]): string => setupText(language, key)
  useEffect(() => {
    if (line === undefined) return
    setupApi.definition(line).then(
      (definition) => {
        setDraft(definition)
        setLoaded(true)
      },
      (error: unknown) => setSaid({ words: `${say('failed')}: ${error instanceof Error ? error.message : String(error)}`, bad: true }),
    )
  }, [line])
  useEffect(() => {
    // An answer to what has been changed since is dropped; a question that got none is asked again.
    let isCurrent = true
    let timer = setTimeout(check, CHECK_AFTER_MS)
    function check(): void {
      setupApi.check(draft).then(
        (found) => {
          if (isCurrent) setFaults(found)
        },
        () => {
          if (isCurrent) timer = setTimeout(check, CHECK_AGAIN_MS)
        },
      )
    }
    return () => {
      isCurrent = false
      clearTimeout(timer)
    }
  }, [draft])
  const keep = async (): Promise<void> => {
    try {
      if (line === undefined) await setupApi.make(draft, broker)
      else await setupApi.change(line, draft)
      setSaid({ words: say('made'), bad: false })
      if (line === undefined) location.hash = hashOf({ view: 'setup', line: String(draft['line']), query: { made: 'yes' } })
    } catch (error) {
      setSaid({ words: `${say('failed')}: ${error instanceof Error ? error.message : String(error)}`, bad: true })
    }
  }
  const load = async (file: File | undefined): Promise<void> => {
    if (file === undefined) return
    try {
      setDraft(JSON.parse(await file.text()) as Draft)
      setSaid(undefined)
    } catch {
      setSaid({ words: say('not-json'), bad: true })
    }
  }
  if (!isLoaded) return said?.bad === true ? <p role="alert">{said.words}</p> : <p role="status">…</p>
  const at: FieldContext = { draft, faults, language, onChange: setDraft }
  return (
    <form class="setup" onSubmit={(event) => event.preventDefault()}>
      <p class="actions">
        <label class="button">
          {say('load')}
          <input type="file" class="unseen-input" accept=".json,application/json" onChange={(event) => void load(event.currentTarget.files?.[0])} />
        </label>
        <a class="button" download={`${String(draft['line'] ?? '') || 'line'}.json`} href={`data:application/json;charset=utf-8,${encodeURIComponent(`${JSON.stringify(draft, null, 2)}\n`)}`}>
          {say('save')}
        </a>
      </p>
      <div class="field-row">
        {line === undefined && <TextField at={at} path="line" label={say('line')} hint={say('line-hint')} />}
        <TextField at={at} path="title" label={say('name')} />
        <TextField at={at} path="timeZone" label={say('timeZone')} />
        {line === undefined && (
          <label class="field">
            {say('broker')}
            <input type="text" value={broker} onInput={(event) => setBroker(event.currentTarget.value)} />
          </label>
        )}
      </div>
      <MachinePart at={at} />
      <ChannelsPart at={at} channels={channels ?? []} broker={broker} />
      <ShiftsPart at={at} />
      <fieldset>
        <legend>{say('figures')}</legend>
        <div class="field-row">
          <TextField at={at} path="costs.currency" label={say('currency')} />
          <NumberField at={at} path="costs.lineStopPerHour" label={say('lineStopPerHour')} />
          <NumberField at={at} path="costs.labourPerHour" label={say('labourPerHour')} />
          <NumberField at={at} path="costs.scrapPerBoard" label={say('scrapPerBoard')} />
        </div>
      </fieldset>
      <div role="status">
        {faults.length === 0 ? (
          <p>{say('no-faults')}</p>
        ) : (
          <>
            <p>{say('faults')}</p>
            <ul>
              {faults.map(({ path, message }) => (
                <li key={`${path} ${message}`}>
                  <b>{path}</b> {message}
                </li>
              ))}
            </ul>
          </>
        )}
        {said !== undefined && <p class={said.bad ? 'act' : 'done'}>{said.words}</p>}
        {said?.bad === false && line !== undefined && (
          <p class="actions">
            <a class="button" href={hashOf({ view: 'lines', line })}>
              {say('to-lines')}
            </a>
            <a class="button" href={hashOf({ view: 'charts', line })}>
              {say('to-charts')}
            </a>
            <a class="button" href={hashOf({ view: 'shift' })}>
              {say('to-shift')}
            </a>
          </p>
        )}
      </div>
      {facts.makesLines && (
        <button type="button" class="main" disabled={faults.length > 0} onClick={() => void keep()}>
          {say(line === undefined ? 'make' : 'change')}
        </button>
      )}
    </form>
  )
}

function MachinePart({ at }: { readonly at: FieldContext }) {
  const { draft, language, onChange } = at
  const say = (key: Parameters<typeof setupText>[1]): string => setupText(language, key)
  const zones = (valueAt(draft, 'machine.zones') as readonly unknown[] | undefined) ?? [{}]
  const band = (valueAt(draft, 'machine.pot.levelBandMm') as readonly (number | undefined)[] | undefined) ?? []
  const setBand = (index: 0 | 1, text: string): void => {
    const next = [band[0], band[1]]
    next[index] = text === '' ? undefined : Number(text)
    onChange(withValue(draft, 'machine.pot.levelBandMm', next.every((value) => value === undefined) ? undefined : next.map((value) => value ?? 0)))
  }
  return (
    <fieldset>
      <legend>{say('machine')}</legend>
      <div class="field-row">
        <ChoiceField at={at} path="machine.fluxer.feed" label={say('feed')} choices={['unknown', 'pressure', 'metered-pump']} />
        <ChoiceField at={at} path="machine.conveyor.speedSensor" label={say('speedSensor')} choices={['unknown', 'chain', 'motor']} />
        <NumberField at={at} path="machine.conveyor.chainPitchMm" label={say('chainPitchMm')} />
        <NumberField at={at} path="machine.conveyor.sprocketTeeth" label={say('sprocketTeeth')} />
        <NumberField at={at} path="machine.conveyor.chainLoopM" label={say('chainLoopM')} />
        <NumberField at={at} path="machine.conveyor.fingerPitchMm" label={say('fingerPitchMm')} />
        <TextField at={at} path="machine.pot.alloy" label={say('alloy')} />
        <label class="field">
          {say('levelLow')}
          <input type="number" step="any" value={band[0] ?? ''} onInput={(event) => setBand(0, event.currentTarget.value)} />
        </label>
        <label class="field">
          {say('levelHigh')}
          <input type="number" step="any" value={band[1] ?? ''} onInput={(event) => setBand(1, event.currentTarget.value)} />
        </label>
        <NumberField at={at} path="machine.pot.levelAlarmMm" label={say('levelAlarmMm')} />
        <label class="field">
          {say('zones')}
          <input type="number" min="1" max={ZONES_MAX} value={zones.length} onInput={(event) => onChange(withValue(draft, 'machine.zones', Array.from({ length: Math.min(ZONES_MAX, Math.max(1, Number(event.currentTarget.value))) }, (_, index) => zones[index] ?? {})))} />
        </label>
      </div>
      {zones.map((_, index) => (
        <div key={index} class="field-row">
          <b>
            {say('zone')} {index + 1}
          </b>
          <ChoiceField at={at} path={`machine.zones[${index}].kind`} label={say('kind')} choices={['convection', 'radiant']} />
          <ChoiceField at={at} path={`machine.zones[${index}].thermocouple`} label={say('thermocouple')} choices={['unknown', 'board-air', 'heater-outlet', 'on-element']} />
          <ChoiceField at={at} path={`machine.zones[${index}].blower`} label={say('blower')} choices={['unknown', 'fixed-speed', 'constant-flow', 'none']} />
        </div>
      ))}
    </fieldset>
  )
}

function ShiftsPart({ at }: { readonly at: FieldContext }) {
  const { draft, language, onChange } = at
  const say = (key: Parameters<typeof setupText>[1]): string => setupText(language, key)
  const shifts = (draft['shifts'] as readonly Readonly<Record<string, unknown>>[] | undefined) ?? []
  const replace = (next: readonly unknown[]): void => onChange(withValue(draft, 'shifts', next.length === 0 ? undefined : next))
  return (
    <fieldset>
      <legend>{say('shifts')}</legend>
      {shifts.map((shift, index) => (
        <div key={index} class="field-row">
          <TextField at={at} path={`shifts[${index}].name`} label={say('shift-name')} />
          <TextField at={at} path={`shifts[${index}].start`} label={say('shift-start')} />
          <TextField at={at} path={`shifts[${index}].end`} label={say('shift-end')} />
          <NumberField at={at} path={`shifts[${index}].people`} label={say('shift-people')} />
          <label class="field">
            {say('days')}
            <select value={(shift['days'] as readonly string[] | undefined)?.length === 7 ? 'all' : 'workdays'} onChange={(event) => onChange(withValue(draft, `shifts[${index}].days`, event.currentTarget.value === 'all' ? [...WORKDAYS, 'sat', 'sun'] : WORKDAYS))}>
              <option value="workdays">{say('workdays')}</option>
              <option value="all">{say('all')}</option>
            </select>
          </label>
          <button type="button" onClick={() => replace(shifts.filter((_, other) => other !== index))}>
            {say('remove')}
          </button>
        </div>
      ))}
      <button type="button" onClick={() => replace([...shifts, { name: `${shifts.length + 1}`, days: WORKDAYS, start: '06:00', end: '14:00', people: 2 }])}>
        {say('shift-add')}
      </button>
    </fieldset>
  )
}
