import fc from 'fast-check'
import { beforeAll, describe, expect, it } from 'vitest'
import { CHECKS } from '../../../src/line/diagnosis/checks.js'
import { parseLineDefinition, type LineDefinition } from '../../../src/line/line-definition.js'
import { CHANGE_KINDS } from '../../../src/maintenance/changes/change-entry.js'
import { JOB_ACTIONS } from '../../../src/maintenance/jobs/job-entry.js'
import { JOB_PUT_OFF_REASONS } from '../../../src/maintenance/jobs/job-reasons.js'
import { RETURN_STEPS, WORK_CATALOGUE } from '../../../src/maintenance/work-catalogue.js'
import { ROUND_CHECKS } from '../../../src/maintenance/rounds/round-catalogue.js'
import type { LineEvent } from '../../../src/monitor/line-event.js'
import { createLineMonitor } from '../../../src/monitor/line-monitor.js'
import type { LineMonitor, LineOutput } from '../../../src/monitor/line-output.js'
import { checkOutput } from '../../../src/runtime/output-check.js'
import { describeLine } from '../../../src/simulator/line-description.js'
import { createSimulation } from '../../../src/simulator/simulation.js'

const START_MS = Date.UTC(2026, 0, 5)
const MINUTE_MS = 60_000
const RUNS = 40
const DAYS = ['mon', 'tue', 'wed', 'thu', 'fri']
/** Names every object has: what looks them up in a plain table finds something that is no entry of it. */
const HOSTILE = ['constructor', '__proto__', 'toString', 'hasOwnProperty', '<b>&"\'', '=1+1', 'no-such-thing']

/** A line with a fault that is already suggested, so that jobs, hold and proof have something to work on. */
let definition: LineDefinition
let agedSnapshot: string
let endMs: number

function freeze(value: unknown): void {
  if (typeof value !== 'object' || value === null || Object.isFrozen(value)) return
  Object.freeze(value)
  for (const inside of Object.values(value)) freeze(inside)
}

/** What is put out is frozen: a part that changed it later would change what is written down of it. */
class Fed {
  readonly outputs: string[] = []

  constructor(
    public monitor: LineMonitor,
    private readonly frozen: boolean,
  ) {}

  give(event: LineEvent): void {
    this.monitor.step(JSON.parse(JSON.stringify(event)) as LineEvent, (output: LineOutput) => {
      checkOutput(output)
      if (output.kind === 'reading') return
      this.outputs.push(JSON.stringify(output))
      if (this.frozen && (output.kind === 'fact' || output.kind === 'suggestion')) freeze(output.body)
    })
  }
}

beforeAll(() => {
  const simulation = createSimulation({
    seed: 11, startMs: START_MS, durationHours: 24 * 9, channels: 'minimum', periodsS: { 'preheat.zone-<n>.temperature': 20, 'conveyor.speed': 10, 'pot.level': 60, '*': 20 },
    faults: [{ cause: 'dirty-chain', onsetHours: 24 * 5, growthHours: 12 }], benign: { changeovers: false, topUps: true },
  })
  const parsed = parseLineDefinition({ ...describeLine(simulation, { line: 'fed' }), shifts: [{ name: 'early', days: DAYS, start: '06:00', end: '14:00', people: 2 }, { name: 'night', days: DAYS, start: '22:00', end: '06:00', people: 1 }], timeZone: 'Europe/Madrid' })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  definition = parsed.definition
  const fed = new Fed(createLineMonitor(definition), true)
  let seq = 0
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
    for (const [channel, value] of sample.values) fed.give({ kind: 'value', channel, value, time: sample.timeMs, seq: (seq += 1), receivedMs: sample.timeMs })
  }
  endMs = simulation.timeMs
  agedSnapshot = JSON.stringify(fed.monitor.snapshot())
  agedJobs = jobsOf(fed)
  agedSuggestions = suggestionsOf(fed)
}, 300_000)

let agedJobs: string[]
let agedSuggestions: string[]

function jobsOf({ outputs }: Fed): string[] {
  return [...new Set(outputs.flatMap((text) => /^{"kind":"fact","body":{"type":"job","id":"([^"]+)"/.exec(text)?.[1] ?? []))]
}

function suggestionsOf({ outputs }: Fed): string[] {
  return [...new Set(outputs.flatMap((text) => /^{"kind":"suggestion","body":{"id":"([^"]+)"/.exec(text)?.[1] ?? []))]
}

/** The aged line after a day on which everybody has left a name. */
function peopledSnapshot(): string {
  const fed = new Fed(createLineMonitor(definition, JSON.parse(agedSnapshot)), true)
  let seq = 9_000_000
  const give = (input: object): void => fed.give({ ...input, seq: (seq += 1), receivedMs: endMs } as LineEvent)
  const enter = (entry: object): void => give({ kind: 'entry', entry: { id: `named-${seq}`, timeMs: endMs, by: 'Robin', ...entry } })
  for (const suggestion of agedSuggestions) give({ kind: 'reply', reply: { suggestion, action: 'take', by: 'Robin' } })
  give({ kind: 'record', record: { id: 'named', timeMs: endMs, section: 'fluxer', work: 'clean-nozzle', finding: 1, by: 'Robin' } })
  enter({ type: 'correction', of: 'named', reason: 'misread', record: { id: 'named', timeMs: endMs, section: 'fluxer', work: 'clean-nozzle', finding: 2, by: 'Sam' } })
  enter({ type: 'job', action: 'add', work: 'clean-fingers' })
  const job = jobsOf(fed).at(-1)
  for (const action of ['take', 'isolate']) enter({ type: 'job', job, action, by: 'Sam' })
  enter({ type: 'hold', action: 'end-early', reason: 'trial', untilMs: endMs + 5 * 3_600_000 })
  enter({ type: 'change', change: 'flux-lot', text: 'lot 7' })
  enter({ type: 'stop', action: 'ask', stop: 'stop-1', minutes: 20 })
  return JSON.stringify(fed.monitor.snapshot())
}

const WORKS = WORK_CATALOGUE.map(({ id }) => id)
const pick = (...words: readonly string[]): fc.Arbitrary<string> => fc.oneof({ weight: 9, arbitrary: fc.constantFrom(...words) }, { weight: 1, arbitrary: fc.constantFrom(...HOSTILE) })
const optional = <T>(arbitrary: fc.Arbitrary<T>): fc.Arbitrary<T | undefined> => fc.option(arbitrary, { nil: undefined })
const section = fc.constantFrom('fluxer', 'preheat', 'transport', 'pot')
const zone = optional(fc.integer({ min: 1, max: 4 }))
const by = optional(pick('Robin', 'Sam'))
/** Hours from now; late, and by a wrong clock ahead. */
const hours = fc.oneof(fc.constantFrom(0, -0.5), fc.double({ min: -400, max: 400, noNaN: true }))
const id = fc.integer({ min: 0, max: 60 }).map((number) => `e-${number}`)
const place = fc.constantFrom(...WORK_CATALOGUE.map(({ id: work, section: of }) => ({ work, section: of })), ...CHECKS.map(({ check: work, section: of }) => ({ work, section: of })), ...HOSTILE.map((work) => ({ work, section: 'pot' as const })))
const record = fc.record({ place, zone, finding: optional(fc.integer({ min: 0, max: 4 })), minutes: optional(fc.integer({ min: 0, max: 3000 })), by, product: optional(pick('isopropyl-alcohol')), handCheck: optional(fc.constantFrom('passed', 'failed')), values: optional(fc.dictionary(pick('holdLoss', 'dose'), fc.double({ min: -1e9, max: 1e9, noNaN: true }), { maxKeys: 3 })), deviation: optional(fc.constant('none at hand')) }).map(({ place: where, ...rest }) => ({ ...where, ...rest }))
type Given = { readonly kind: string; readonly hours: number; readonly body: Record<string, unknown>; readonly which: number }
const given = (kind: string, body: fc.Arbitrary<Record<string, unknown>>, weight: number): fc.WeightedArbitrary<Given> => ({ weight, arbitrary: fc.record({ kind: fc.constant(kind), hours, body, which: fc.nat(20) }) })
const events: fc.Arbitrary<Given[]> = fc.array(
  fc.oneof(
    given('pass', fc.record({ minutes: fc.constantFrom(1, 10, 60, 300), speed: fc.constantFrom(0, 18, 20, 23), offset: fc.constantFrom(-25, 0, 4) }), 12),
    given('record', record, 5),
    given('job', fc.record({ action: fc.constantFrom(...JOB_ACTIONS), work: pick(...WORKS), section, zone, reason: optional(pick(...JOB_PUT_OFF_REASONS)), people: optional(fc.integer({ min: 1, max: 3 })), by, step: optional(pick(...RETURN_STEPS)), part: optional(fc.constant('bearing')), engineer: by, surfaceC: optional(fc.integer({ min: -50, max: 300 })), product: optional(pick('isopropyl-alcohol')) }), 8),
    given('round', fc.record({ round: fc.constantFrom('shift', 'day', 'week', 'month', 'event'), by, items: fc.array(fc.record({ check: pick(...ROUND_CHECKS.map(({ check }) => check)), ok: fc.constantFrom(false, false, true), zone, finding: fc.integer({ min: 0, max: 4 }), values: optional(fc.dictionary(pick('contact-time', 'level', 'dose', 'length'), fc.double({ min: -1e6, max: 1e6, noNaN: true }), { maxKeys: 3 })) }), { minLength: 1, maxLength: 5 }) }), 5),
    given('correction', fc.record({ reason: fc.constant('typed wrong'), record: optional(record), by }), 3),
    given('hold', fc.record({ action: fc.constantFrom('end-early', 'explain-change', 'exempt'), reason: fc.constant('trial'), by, recipe: optional(pick('A')) }), 2),
    given('change', fc.record({ change: fc.constantFrom(...CHANGE_KINDS), text: optional(pick('lot 7')), zone, by }), 4),
    given('stop', fc.record({ action: fc.constantFrom('ask', 'grant', 'refuse', 'followed', 'withdraw'), stop: optional(pick('stop-1')), minutes: optional(fc.nat(500)), reason: optional(fc.constant('orders')) }), 2),
    given('plan', fc.record({ action: fc.constantFrom('agree', 'reopen'), week: fc.constantFrom('2026-W03', '2026-W04'), stops: fc.constant([]), reason: optional(fc.constant('late orders')) }), 1),
    given('stock', fc.record({ item: pick('chain', 'fingers'), ready: fc.nat(9) }), 1),
    given('paper', fc.record({ paper: fc.constantFrom('instruction', 'qualification', 'calibration'), of: pick(...WORKS), reference: fc.constant('rev 2'), validFromMs: fc.constant(START_MS) }), 1),
    given('reply', fc.record({ action: fc.constantFrom('take', 'put-off', 'decline', 'done'), reason: optional(pick('parts-missing', 'no-time-now')), by, engineer: by, found: optional(fc.constantFrom('confirmed', 'something-else', 'nothing-found')) }), 3),
    given('baseline', fc.record({ decision: fc.constantFrom('accept', 'reject', 'refit'), feature: pick('conveyor.speed.offset', 'preheat.zone-1.temperature.offset') }), 1),
    given('definition', fc.constant({}), 1),
  ),
  { minLength: 1, maxLength: 60 },
)

/** Makes journal events of what was drawn, as the ways in would. */
function journalOf(drawn: readonly Given[], ids: readonly string[]): LineEvent[] {
  const journal: LineEvent[] = []
  let nowMs = endMs
  const add = (input: object): void => void journal.push({ ...input, seq: 10_000_000 + journal.length, receivedMs: nowMs } as LineEvent)
  drawn.forEach(({ kind, hours: away, body, which }, index) => {
    const timeMs = Math.round(nowMs + away * 3_600_000)
    const entryId = ids[index] ?? `e-${index}`
    if (kind === 'pass') {
      for (let minute = 0; minute < Number(body['minutes']); minute += 1) {
        nowMs += MINUTE_MS
        add({ kind: 'value', channel: 'conveyor.speed', value: Number(body['speed']) + Math.sin(minute), time: nowMs })
        for (let number = 1; number <= definition.machine.zones.length; number += 1) add({ kind: 'value', channel: `preheat.zone-${number}.temperature`, value: 110 + Number(body['offset']) + Math.cos(minute * number), time: nowMs })
        add({ kind: 'value', channel: 'pot.level', value: -1 + Number(body['offset']) / 5, time: nowMs })
      }
      return
    }
    const until = body['action'] === 'put-off' || kind === 'hold' ? { untilMs: timeMs } : {}
    const suggestion = agedSuggestions[which % Math.max(1, agedSuggestions.length)] ?? 's-none'
    if (kind === 'record') add({ kind, record: { id: entryId, timeMs, ...body, ...(which % 3 === 0 ? { suggestion } : {}) } })
    else if (kind === 'reply') add({ kind, reply: { suggestion, ...body, ...until } })
    else if (kind === 'baseline') add({ kind, ...body })
    else if (kind === 'definition') add({ kind, definition })
    else {
      const job = agedJobs[which % Math.max(1, agedJobs.length)]
      const corrected = body['record'] as object | undefined
      add({ kind: 'entry', entry: { type: kind, id: entryId, timeMs, ...body, ...until, ...(kind === 'job' && job !== undefined ? { job } : {}), ...(kind === 'correction' ? { of: `e-${which}`, ...(corrected === undefined ? {} : { record: { id: 'x', timeMs, ...corrected } }) } : {}) } })
    }
  })
  return journal
}

describe('a line with its maintenance side', () => {
  it('begins the property with a suggestion, or it would show little', () => {
    expect(agedSuggestions.length).toBeGreaterThan(0)
  })

  it('goes on exactly from the text of a snapshot taken at any place', () => {
    fc.assert(
      fc.property(events, fc.array(id, { maxLength: 60 }), fc.double({ min: 0, max: 1, noNaN: true }), (drawn, ids, share) => {
        const journal = journalOf(drawn, ids)
        const through = new Fed(createLineMonitor(definition, JSON.parse(agedSnapshot)), true)
        const broken = new Fed(createLineMonitor(definition, JSON.parse(agedSnapshot)), true)
        const at = Math.floor(share * journal.length)
        journal.forEach((event, index) => {
          through.give(event)
          if (index === at) broken.monitor = createLineMonitor(definition, JSON.parse(JSON.stringify(broken.monitor.snapshot())))
          broken.give(event)
        })
        expect(broken.outputs).toEqual(through.outputs)
        expect(JSON.stringify(broken.monitor.snapshot())).toBe(JSON.stringify(through.monitor.snapshot()))
      }),
      { numRuns: RUNS },
    )
  }, 300_000)

  it('loses no record and counts none twice: each is kept or refused, whatever comes around it', () => {
    fc.assert(
      fc.property(events, fc.array(id, { maxLength: 60 }), (drawn, ids) => {
        const fed = new Fed(createLineMonitor(definition, JSON.parse(agedSnapshot)), true)
        const entries = new Set<string>()
        for (const event of journalOf(drawn, ids)) {
          const before = fed.outputs.length
          fed.give(event)
          const said = fed.outputs.slice(before).map((text) => JSON.parse(text) as { kind: string; body: { type?: string; id?: string; entry?: string; earlier?: unknown[] } })
          if (event.kind === 'entry' && !said.some(({ body }) => body.type === 'refused' && body.entry === event.entry.id)) entries.add(event.entry.id)
          if (event.kind !== 'record') continue
          const kept = said.filter(({ kind, body }) => kind === 'fact' && body.type === 'record' && body.id === event.record.id)
          const refused = said.some(({ body }) => body.type === 'refused' && body.entry === event.record.id)
          expect(kept.length).toBe(refused || entries.has(event.record.id) ? 0 : 1)
          if (!refused) entries.add(event.record.id)
        }
      }),
      { numRuns: RUNS / 2 },
    )
  }, 300_000)

  it('forgets names anywhere, and nothing else: what is said afterwards differs in names only, and locks keep their owners', () => {
    const nameless = (outputs: readonly string[]): unknown[] => outputs.map((text) => JSON.parse(text, (name, value: unknown) => (['by', 'engineer', 'holders', 'suspendedBy'].includes(name) && typeof value === 'string' ? undefined : value)) as unknown)
    const peopled = peopledSnapshot()
    expect(peopled.match(/"(Robin|Sam)"/g)!.length).toBeGreaterThan(8)
    fc.assert(
      fc.property(events, fc.double({ min: 0, max: 1, noNaN: true }), (drawn, share) => {
        const journal = journalOf(drawn, [])
        const through = new Fed(createLineMonitor(definition, JSON.parse(peopled)), true)
        const forgetful = new Fed(createLineMonitor(definition, JSON.parse(peopled)), true)
        const at = Math.floor(share * journal.length)
        journal.forEach((event, index) => {
          through.give(event)
          if (index === at) {
            const before = forgetful.outputs.length
            forgetful.give({ kind: 'forget-names', beforeMs: Number.MAX_SAFE_INTEGER, seq: event.seq, receivedMs: event.receivedMs })
            expect(forgetful.outputs.length).toBe(before)
            const left = JSON.stringify(forgetful.monitor.snapshot(), (name, value: unknown) => (name === 'holders' || name === 'isolation' ? undefined : value))
            expect(left).not.toMatch(/"(Robin|Sam)"/)
          }
          forgetful.give(event)
        })
        expect(nameless(forgetful.outputs)).toEqual(nameless(through.outputs))
      }),
      { numRuns: RUNS / 2 },
    )
  }, 300_000)
})
