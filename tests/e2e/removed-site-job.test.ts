import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { parseLineDefinition, type LineDefinition } from '../../src/line/line-definition.js'
import { withOpenJobs } from '../../src/maintenance/kept-jobs.js'
import type { JobFact } from '../../src/maintenance/jobs/job-fact.js'
import { siteCatalogue, siteWorkFaults } from '../../src/maintenance/site-catalogue.js'
import { entryFromJson } from '../../src/service/entry-inputs.js'
import { jobsView, jobView } from '../../src/service/jobs-view.js'
import { recordFromJson } from '../../src/service/outside-inputs.js'
import type { RunningLine } from '../../src/service/running-line.js'
import { acquireSite, releaseSite, type Site } from '../../src/service/site.js'

const folders: string[] = []

afterAll(() => {
  for (const folder of folders) rmSync(folder, { recursive: true, force: true })
})

const text = (title: string) => ({ title, steps: ['Do the work'], tools: ['a cloth'], verification: 'It is dry and clean' })
const ownJob = (id: string, more: object = {}): object => ({
  id, section: 'transport', kind: 'cleaning', minutesByHand: [10, 20], isolation: ['isolate-electricity', 'verify-zero-energy'], cautions: ['isolate-and-verify', 'hot-parts'], texts: { 'en-US': text(`Job ${id}`), es: text(`Trabajo ${id}`) }, ...more,
})
const WASH = ownJob('wash-carriers', { followedBy: 'dry-carriers' })
const DRY = ownJob('dry-carriers')

function definitionWith(siteWork?: object): LineDefinition {
  const parsed = parseLineDefinition({ line: 'line-a', ...(siteWork === undefined ? {} : { siteWork }) })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  expect(siteWorkFaults(parsed.definition)).toEqual([])
  return parsed.definition
}

async function record(line: RunningLine, body: object): Promise<string> {
  const read = recordFromJson(body, line.nowMs())
  if (read.kind === 'faults') throw new Error(read.message)
  const outcome = await line.record(read.input)
  return outcome.kind === 'refused' ? outcome.message : outcome.kind
}

const works = (line: RunningLine, language = 'en-US'): unknown[] => jobsView(line, language, false).map(({ work, doNotStart }) => [work, (doNotStart as { key: string } | undefined)?.key])

describe('a site job that is taken out of the definition while its card says do not start', () => {
  it('keeps its card, its words and its way out, and goes once the card is closed', { timeout: 30_000 }, async () => {
    const folder = mkdtempSync(join(tmpdir(), 'removed-'))
    folders.push(folder)
    const logged: string[] = []
    const open = async (definition: LineDefinition): Promise<{ site: Site; line: RunningLine }> => {
      const site = await acquireSite({ dataFolder: folder, log: (message) => logged.push(message) })
      const line = site.openLine({ definition, stages: undefined, mqtt: false })
      // The definition goes through the journal like anything else.
      await expect.poll(() => line.status().queued).toBe(0)
      return { site, line }
    }
    let { site, line } = await open(definitionWith({ jobs: [WASH, DRY] }))
    expect(await record(line, { section: 'transport', work: 'wash-carriers', finding: 3 })).toBe('taken')
    const before = works(line)
    expect(before).toContainEqual(['wash-carriers', 'follow-up-missing'])
    await releaseSite(site)

    for (const without of [definitionWith(), definitionWith({ jobs: [ownJob('other-job')] })]) {
      ;({ site, line } = await open(without))
      expect(works(line)).toEqual(before)
      expect(works(line, 'es')).toEqual(before)
      const card = jobView(line, line.projection.factsOf('job').find(({ work }) => work === 'wash-carriers')!, 'es')
      expect(card).toMatchObject({ title: 'Trabajo wash-carriers', followUp: { title: 'Trabajo dry-carriers' } })
      expect((card['cautions'] as unknown[]).length).toBeGreaterThan(1)
      expect(logged.at(-1)).toContain('wash-carriers, dry-carriers stay')
      await releaseSite(site)
    }

    ;({ site, line } = await open(definitionWith()))
    expect(await record(line, { section: 'transport', work: 'dry-carriers' })).toBe('taken')
    expect(works(line)).toEqual([])
    await releaseSite(site)

    ;({ site, line } = await open(definitionWith()))
    await expect.poll(() => siteCatalogue(line.definition).item('wash-carriers')).toBeUndefined()
    expect(line.projection.factsOf('job').filter(({ work }) => work === 'wash-carriers')).toMatchObject([{ status: 'done' }])
    const entry = entryFromJson({ type: 'job', action: 'add', work: 'wash-carriers' }, line.nowMs())
    expect(entry.kind === 'input' && (await line.enter(entry.input)).kind).toBe('refused')
    await releaseSite(site)
  })

  it('still has to be followed by what followed it when the site takes only that away', () => {
    const half = { type: 'job', work: 'wash-carriers', status: 'half-done', begun: true, holders: [], followUp: 'dry-carriers' } as unknown as JobFact
    const { definition, kept } = withOpenJobs(definitionWith({ jobs: [ownJob('wash-carriers')] }), definitionWith({ jobs: [WASH, DRY] }), [half])
    expect(kept).toEqual(['dry-carriers'])
    expect(siteCatalogue(definition).item('wash-carriers')?.followedBy).toBe('dry-carriers')
    expect(withOpenJobs(definitionWith({ jobs: [ownJob('wash-carriers')] }), definitionWith({ jobs: [WASH, DRY] }), [{ ...half, status: 'done' } as JobFact])).toEqual({ definition: definitionWith({ jobs: [ownJob('wash-carriers')] }), kept: [] })
  })

  it('changes nothing of a definition that takes no job away', () => {
    const definition = definitionWith({ jobs: [WASH, DRY] })
    const openCard = { type: 'job', work: 'wash-carriers', status: 'open', begun: false, holders: [] } as unknown as JobFact
    expect(withOpenJobs(definition, definition, [openCard]).definition).toBe(definition)
    expect(withOpenJobs(definitionWith(), definition, []).definition.siteWork).toBeUndefined()
  })
})
