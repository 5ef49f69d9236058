import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { parseLineDefinition, type LineDefinition } from '../../src/line/line-definition.js'
import type { MaintenanceFact } from '../../src/maintenance/maintenance-fact.js'
import { entryFromJson } from '../../src/service/entry-inputs.js'
import { recordFromJson } from '../../src/service/outside-inputs.js'
import type { RunningLine } from '../../src/service/running-line.js'
import { acquireSite, releaseSite, type Site } from '../../src/service/site.js'

const DAY_MS = 86_400_000
const START_MS = Date.UTC(2026, 0, 5, 8)
const folders: string[] = []
/** One of each whose name is old, of whose lock is on, and of yesterday. */
const [OLD, LOCK, NEW] = ['Ottokar', 'Lockhart', 'Newman']

afterAll(() => {
  for (const folder of folders) rmSync(folder, { recursive: true, force: true })
})

function definitionOf(line: string): LineDefinition {
  const parsed = parseLineDefinition({ line, people: { names: 'kept', keepDays: 30 } })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  return parsed.definition
}

async function enter(line: RunningLine, body: Record<string, unknown>): Promise<string> {
  const entry = entryFromJson(body, line.nowMs())
  if (entry.kind === 'faults') throw new Error(entry.message)
  const outcome = await line.enter(entry.input)
  return outcome.kind === 'refused' && !outcome.message.includes('owner') ? outcome.message : outcome.kind
}

async function record(line: RunningLine, body: Record<string, unknown>): Promise<void> {
  const read = recordFromJson(body, line.nowMs())
  if (read.kind === 'faults') throw new Error(read.message)
  expect(await line.record(read.input)).toMatchObject({ kind: 'taken' })
}

/** What people did long ago: a record corrected, a job taken and done, a lock put on, a refusal that names a holder. */
async function workOfOld(line: RunningLine): Promise<void> {
  await record(line, { id: 'r-1', section: 'fluxer', work: 'clean-nozzle', finding: 2, by: OLD })
  expect(await enter(line, { type: 'correction', of: 'r-1', reason: 'misread', by: OLD, record: { section: 'fluxer', work: 'clean-nozzle', finding: 1, by: OLD } })).toBe('taken')
  expect(await enter(line, { type: 'change', change: 'flux-lot', by: OLD })).toBe('taken')
  expect(await enter(line, { type: 'stop', action: 'ask', stop: 's-1', minutes: 20, by: OLD })).toBe('taken')
  await enter(line, { type: 'job', action: 'add', work: 'clean-rails', by: OLD })
  await enter(line, { type: 'job', action: 'add', work: 'clean-fingers', by: OLD })
  const jobOf = (work: string): string => line.projection.factsOf('job').find((job) => job.work === work)!.id
  for (const action of ['take', 'isolate']) expect(await enter(line, { type: 'job', job: jobOf('clean-rails'), action, by: action === 'isolate' ? LOCK : OLD })).toBe('taken')
  const returns = ['guards-on', 'tools-and-rags-out', 'people-clear'].map((step) => ({ action: 'return-step', step }))
  for (const step of [{ action: 'take' }, { action: 'isolate' }, ...returns, { action: 'release-isolation' }]) expect(await enter(line, { type: 'job', job: jobOf('clean-fingers'), by: OLD, ...step })).toBe('taken')
  expect(await enter(line, { type: 'job', job: jobOf('clean-rails'), action: 'release-isolation', by: OLD })).toBe('refused')
  // Another who is not the owner; the refusal names whose lock it is.
  expect(JSON.stringify(line.projection.factsOf('refused'))).toContain(LOCK)
}

function bytesOf(folder: string): string {
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((file) => file.isFile())
    .map((file) => readFileSync(join(file.parentPath, file.name), 'latin1'))
    .join('\n')
    .replaceAll(/[^ -~]+/g, '\n')
}

const nameless = (facts: readonly MaintenanceFact[]): unknown => JSON.parse(JSON.stringify(facts, (name, value: unknown) => (['by', 'holder', 'engineer', 'holders', 'isolation'].includes(name) ? undefined : value)))

describe('names of people past their time', { timeout: 30_000 }, () => {
  it('are in no file any more, the line goes on as it was, and whose lock is on is known', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'names-'))
    folders.push(folder)
    const logged: string[] = []
    let nowMs = START_MS
    const open = async (): Promise<{ site: Site; line: RunningLine }> => {
      const site = await acquireSite({ dataFolder: folder, log: (message) => logged.push(message), clock: { nowMs: () => nowMs } })
      return { site, line: site.openLine({ definition: definitionOf('line-a'), stages: undefined, mqtt: false }) }
    }
    let { site, line } = await open()
    await workOfOld(line)
    const types = ['record', 'job', 'change', 'stop', 'refused'] as const
    const before = types.map((type) => nameless(line.projection.factsOf(type)))
    await site.names.forget()
    expect(line.projection.factsOf('record')[0]!.record.by).toBe(OLD)

    nowMs += 40 * DAY_MS
    await record(line, { id: 'r-2', section: 'pot', work: 'skim-dross', by: NEW })
    await site.names.forget()
    expect(logged).toEqual([])
    expect(JSON.stringify(types.map((type) => line.projection.factsOf(type)))).not.toContain(OLD)
    const counts = line.status().processedSeq
    await releaseSite(site)
    const bytes = bytesOf(folder)
    expect(bytes.match(new RegExp(`.{0,200}${OLD}.{0,60}`, 'g')) ?? []).toEqual([])
    expect(bytes).toContain(LOCK)
    expect(bytes).toContain(NEW)

    // The next start finds the same line: same ids, same standing, nothing twice.
    ;({ site, line } = await open())
    const after = types.map((type) => nameless(type === 'record' ? line.projection.factsOf(type).filter(({ id }) => id !== 'r-2') : line.projection.factsOf(type).filter(({ timeMs }) => timeMs < nowMs - DAY_MS)))
    expect(after).toEqual(before)
    expect(line.status().processedSeq).toBeGreaterThanOrEqual(counts)
    expect(line.projection.factsOf('record').find(({ id }) => id === 'r-2')?.record.by).toBe(NEW)
    // The owner of the lock removes it; nobody else could.
    const rails = line.projection.factsOf('job').find(({ work }) => work === 'clean-rails')!
    expect(await enter(line, { type: 'job', job: rails.id, action: 'release-isolation', by: NEW })).toBe('refused')
    for (const step of ['guards-on', 'tools-and-rags-out', 'people-clear']) expect(await enter(line, { type: 'job', job: rails.id, action: 'return-step', step })).toBe('taken')
    expect(await enter(line, { type: 'job', job: rails.id, action: 'release-isolation', by: LOCK })).toBe('taken')
    // A record known before is still known: sent again it counts once, corrected it is found.
    await record(line, { id: 'r-1', section: 'fluxer', work: 'clean-nozzle', finding: 4 })
    expect(line.projection.factsOf('record').find(({ id }) => id === 'r-1')).toMatchObject({ record: { finding: 1 } })
    expect(await enter(line, { type: 'correction', of: 'r-1', reason: 'again', record: { section: 'fluxer', work: 'clean-nozzle', finding: 3 } })).toBe('taken')
    await releaseSite(site)
  })

  it('leave a line that was archived as well', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'names-'))
    folders.push(folder)
    const logged: string[] = []
    let nowMs = START_MS
    const site = await acquireSite({ dataFolder: folder, log: (message) => logged.push(message), clock: { nowMs: () => nowMs } })
    const line = site.openLine({ definition: definitionOf('line-a'), stages: undefined, mqtt: false })
    await workOfOld(line)
    await site.closeLine('line-a', { archive: true })
    logged.length = 0
    await site.names.forget()
    const [name] = site.store.archivedLines()
    expect(JSON.stringify(site.store.currentFacts(name!))).toContain(OLD)
    nowMs += 31 * DAY_MS
    await site.names.forget()
    expect(logged).toEqual([])
    expect(site.store.currentFacts(name!).length).toBeGreaterThan(3)
    await releaseSite(site)
    expect(bytesOf(folder)).not.toMatch(new RegExp(`${OLD}|${LOCK}`))
  })
})
