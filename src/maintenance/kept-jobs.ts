import type { LineDefinition } from '../line/line-definition.js'
import type { SiteWork } from '../line/site-work.js'
import { LANGUAGES } from './catalogue-language.js'
import type { JobFact } from './jobs/job-fact.js'
import { isOpenJob, isUnderWay } from './jobs/job-steps.js'
import { WORK_CATALOGUE } from './work-catalogue.js'

type SiteJob = SiteWork['jobs'][number]

/**
 * A new definition of a line, with the site's own jobs that it leaves out and whose cards are not closed: what says "do not
 * start", holds a lock or must be followed by another job is not lost by an edit. Once the card is closed the job goes with
 * the next change or start.
 *
 * @param wanted as the site wrote it
 * @param known the definition that ran before
 * @param jobs cards as they stand
 * @returns the definition to run, and the ids of the jobs that stay in it
 */
export function withOpenJobs(wanted: LineDefinition, known: LineDefinition, jobs: readonly JobFact[]): { readonly definition: LineDefinition; readonly kept: readonly string[] } {
  const before = known.siteWork?.jobs ?? []
  const now = wanted.siteWork?.jobs ?? []
  const open = jobs.filter(isOpenJob)
  const needed = withFollowers(open.map(({ work }) => work), before)
  const left = before.filter(({ id }) => needed.has(id) && !now.some((job) => job.id === id) && !WORK_CATALOGUE.some((item) => item.id === id))
  const changed = now.map((job) => ({ ...job, ...mustFollow(job, before, open) }))
  const languages = [...LANGUAGES, ...Object.keys(wanted.siteWork?.languages ?? {})]
  if (left.length === 0 && changed.every((job, index) => job.followedBy === now[index]!.followedBy)) return { definition: wanted, kept: [] }
  const siteWork = wanted.siteWork ?? { products: [], safetyPutOffDays: known.siteWork!.safetyPutOffDays, edits: {}, jobs: [], languages: {} }
  return { definition: { ...wanted, siteWork: { ...siteWork, jobs: [...changed, ...left.map((job) => inLanguages(job, languages))] } }, kept: left.map(({ id }) => id) }
}

/** The works, and of each what must follow it. */
function withFollowers(works: readonly string[], jobs: readonly SiteJob[]): ReadonlySet<string> {
  const needed = new Set(works)
  // A set that grows while it is gone through reaches the followers of followers, and each once.
  for (const work of needed) {
    const next = jobs.find(({ id }) => id === work)?.followedBy
    if (next !== undefined) needed.add(next)
  }
  return needed
}

/** What has to follow half-done work stays what it was until the work is no longer half done. */
function mustFollow(job: SiteJob, before: readonly SiteJob[], open: readonly JobFact[]): { readonly followedBy?: string } {
  const isBegun = open.some((card) => card.work === job.id && isUnderWay(card))
  const former = before.find(({ id }) => id === job.id)?.followedBy
  return isBegun && former !== undefined ? { followedBy: former } : {}
}

/** In a language that has come since it has the words it had: nobody has written others, and its cautions are translated with the rest. */
function inLanguages(job: SiteJob, languages: readonly string[]): SiteJob {
  return { ...job, texts: { ...Object.fromEntries(languages.map((language) => [language, job.texts['en-US']!])), ...job.texts } }
}
