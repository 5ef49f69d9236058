import type { LineDefinition } from '../line/line-definition.js'
import type { SiteWork } from '../line/site-work.js'
import { LANGUAGES, type Language } from './catalogue-language.js'
import { cautionText, isolationText, jobText, returnText } from './catalogue-texts.js'
import type { JobText } from './work-catalogue-data-jobs-en-us.js'
import { START_INTERVALS } from './intervals/usual-intervals.js'
import { CAUTION_IDS } from './work-catalogue-data-facts.js'
import { ISOLATION_STEPS, RETURN_STEPS, returnStepsOf, WORK_CATALOGUE, type CautionId, type WorkItem } from './work-catalogue.js'
import { PRODUCT_CLASSES, PRODUCT_FACTS, PRODUCT_TITLES, type ProductClass, type ProductFacts } from './work-products.js'

/** A product as the site knows it. */
export interface SiteProduct {
  readonly name: string
  readonly class: ProductClass
  readonly flashPointC: ProductFacts['flashPointC']
}

/** A job in words, with all a person needs before the first move. */
export interface FullJobWords extends JobText {
  readonly cautions: readonly { readonly caution: string; readonly text: string }[]
  readonly before: readonly { readonly step: string; readonly text: string }[]
  readonly after: readonly { readonly step: string; readonly text: string }[]
  readonly products: readonly { readonly product: string; readonly title: string }[]
}

/** The work catalogue as it holds at a site: the package's own, edited and added to. */
export interface SiteCatalogue {
  readonly items: readonly WorkItem[]
  readonly languages: readonly string[]
  readonly safetyPutOffDays: number
  item(id: string): WorkItem | undefined
  /** What a product's name or class says; undefined for one the site does not list. */
  product(name: string): SiteProduct | undefined
  /** Names a record may give as product of a job: the site's own of an approved class, else the classes. */
  approved(item: WorkItem): readonly string[]
  /** @throws Error for a job or a language it does not hold; no text is ever given in another language */
  words(id: string, language: string): FullJobWords
  instruction(id: string): { readonly id: string; readonly revision: string } | undefined
}

export interface CatalogueFault {
  /** Where, e.g. `siteWork.jobs[0].cautions`. */
  readonly path: string
  readonly message: string
}

const NO_SITE_WORK: SiteWork = { products: [], safetyPutOffDays: 7, edits: {}, jobs: [], languages: {} }
const cache = new WeakMap<SiteWork, SiteCatalogue>()

/**
 * The catalogue of a line.
 * @throws Error if the site's part has faults; they are found where a definition is read, by `siteWorkFaults`
 */
export function siteCatalogue(definition: Pick<LineDefinition, 'siteWork'>): SiteCatalogue {
  const site = definition.siteWork ?? NO_SITE_WORK
  const known = cache.get(site)
  if (known !== undefined) return known
  const faults = siteWorkFaults(definition)
  if (faults.length > 0) throw new Error(`work catalogue of the site: ${faults.map(({ path, message }) => `${path}: ${message}`).join('; ')}`)
  const made = new Catalogue(site)
  cache.set(site, made)
  return made
}

class Catalogue implements SiteCatalogue {
  readonly items: readonly WorkItem[]
  readonly languages: readonly string[]
  private readonly byId: ReadonlyMap<string, WorkItem>

  constructor(private readonly site: SiteWork) {
    this.items = [...WORK_CATALOGUE.map((item) => edited(item, site.edits[item.id])), ...site.jobs.map(ownJob)]
    this.byId = new Map(this.items.map((item) => [item.id, item]))
    this.languages = [...LANGUAGES, ...Object.keys(site.languages)]
  }

  get safetyPutOffDays(): number {
    return this.site.safetyPutOffDays
  }

  item(id: string): WorkItem | undefined {
    return this.byId.get(id)
  }

  product(name: string): SiteProduct | undefined {
    const wanted = name.trim().toLowerCase()
    const own = this.site.products.find((product) => product.name.toLowerCase() === wanted)
    if (own !== undefined) {
      const ofClass = own.class as ProductClass
      return { name: own.name, class: ofClass, flashPointC: own.flashPointC ?? PRODUCT_FACTS[ofClass].flashPointC }
    }
    const known = PRODUCT_CLASSES.find((id) => id === wanted)
    return known === undefined ? undefined : { name: known, class: known, flashPointC: PRODUCT_FACTS[known].flashPointC }
  }

  approved(item: WorkItem): readonly string[] {
    const own = this.site.products.filter((product) => item.products.includes(product.class as ProductClass)).map(({ name }) => name)
    return own.length > 0 ? own : item.products
  }

  words(id: string, language: string): FullJobWords {
    const item = this.byId.get(id)
    if (item === undefined) throw new Error(`work catalogue has no job "${id}"`)
    const cautions = CAUTION_IDS.filter((caution) => caution === 'other-rules-win' || caution === 'advice-only' || item.cautions.includes(caution) || (caution === 'licensed-electrician' && item.needsElectrician))
    return {
      ...this.text(id, language),
      cautions: cautions.map((caution) => ({ caution, text: this.say(language, 'cautions', caution, () => cautionText(caution, language as Language)) })),
      before: item.isolation.map((step) => ({ step, text: this.say(language, 'isolation', step, () => isolationText(step, language as Language)) })),
      after: returnStepsOf(item).map((step) => ({ step, text: this.say(language, 'returns', step, () => returnText(step, language as Language)) })),
      products: this.approved(item).map((product) => ({ product, title: this.productTitle(product, language) })),
    }
  }

  instruction(id: string): { readonly id: string; readonly revision: string } | undefined {
    return this.site.edits[id]?.instruction ?? this.site.jobs.find((job) => job.id === id)?.instruction
  }

  private text(id: string, language: string): JobText {
    const own = this.site.edits[id]?.texts?.[language] ?? this.site.jobs.find((job) => job.id === id)?.texts[language] ?? this.site.languages[language]?.jobs[id]
    if (own !== undefined) return own
    if (!isLanguage(language)) throw new Error(`no text for job "${id}" in ${language}; expected one of ${this.languages.join(', ')}`)
    return jobText(id, language)
  }

  private say(language: string, kind: 'cautions' | 'isolation' | 'returns', id: string, own: () => string): string {
    if (isLanguage(language)) return own()
    const text = this.site.languages[language]?.[kind][id]
    if (text === undefined) throw new Error(`no text for ${kind} "${id}" in ${language}; expected one of ${this.languages.join(', ')}`)
    return text
  }

  private productTitle(product: string, language: string): string {
    const known = PRODUCT_CLASSES.find((id) => id === product)
    if (known === undefined) return product
    return isLanguage(language) ? PRODUCT_TITLES[known][language] : (this.site.languages[language]?.products[known] ?? known)
  }
}

function isLanguage(language: string): language is Language {
  return (LANGUAGES as readonly string[]).includes(language)
}

function edited(item: WorkItem, edit: SiteWork['edits'][string] | undefined): WorkItem {
  if (edit === undefined) return item
  const { people, minutesByHand, minutesWithWasher, minutesWhenNeglected, products, cautions } = edit
  return {
    ...item,
    ...(people === undefined ? {} : { people }),
    ...(minutesByHand === undefined ? {} : { minutesByHand }),
    ...(minutesWithWasher === undefined ? {} : { minutesWithWasher }),
    ...(minutesWhenNeglected === undefined ? {} : { minutesWhenNeglected }),
    ...(products === undefined ? {} : { products: products as ProductClass[] }),
    ...(cautions === undefined ? {} : { cautions: [...item.cautions, ...(cautions as CautionId[])] }),
  }
}

function ownJob(job: SiteWork['jobs'][number]): WorkItem {
  const { id, section, kind, people, needsElectrician, safety, minutesByHand, minutesWithWasher, minutesWhenNeglected, followedBy } = job
  return {
    id,
    section,
    kind,
    mends: [],
    laterFor: [],
    people,
    needsElectrician,
    qualification: needsElectrician ? 'electrician' : 'technician',
    safety,
    minutesByHand,
    ...(minutesWithWasher === undefined ? {} : { minutesWithWasher }),
    ...(minutesWhenNeglected === undefined ? {} : { minutesWhenNeglected }),
    isolation: job.isolation as WorkItem['isolation'],
    cautions: job.cautions as CautionId[],
    products: job.products as ProductClass[],
    passIf: [],
    ...(followedBy === undefined ? {} : { followedBy }),
    leadsTo: [],
  }
}

/** Every fault of the site's part of the catalogue: unknown names, less care than the catalogue, missing texts. */
export function siteWorkFaults({ siteWork: site }: Pick<LineDefinition, 'siteWork'>): readonly CatalogueFault[] {
  if (site === undefined) return []
  const faults: CatalogueFault[] = []
  const fault = (path: string, message: string): void => void faults.push({ path: `siteWork.${path}`, message })
  const known = (path: string, found: readonly string[], expected: readonly string[]): void => {
    for (const name of found) if (!expected.includes(name)) fault(path, `"${name}" is not known; expected one of ${expected.join(', ')}`)
  }
  site.products.forEach((product, index) => {
    known(`products[${index}].class`, [product.class], PRODUCT_CLASSES)
    if (site.products.findIndex(({ name }) => name.toLowerCase() === product.name.toLowerCase()) !== index) fault(`products[${index}].name`, `"${product.name}" is listed twice`)
  })
  for (const [id, edit] of Object.entries(site.edits)) editFaults(id, edit, known, fault)
  const ids = [...WORK_CATALOGUE.map((item) => item.id), ...site.jobs.map((job) => job.id)]
  const tags = [...LANGUAGES, ...Object.keys(site.languages)]
  site.jobs.forEach((job, index) => {
    const at = `jobs[${index}]`
    if (ids.indexOf(job.id) !== ids.lastIndexOf(job.id)) fault(`${at}.id`, `"${job.id}" is there already; change it under edits`)
    known(`${at}.cautions`, job.cautions, CAUTION_IDS)
    known(`${at}.isolation`, job.isolation, ISOLATION_STEPS)
    known(`${at}.products`, job.products, PRODUCT_CLASSES)
    if (job.followedBy !== undefined) known(`${at}.followedBy`, [job.followedBy], ids)
    for (const tag of tags) if (job.texts[tag] === undefined) fault(`${at}.texts`, `has no text in ${tag}`)
  })
  for (const [tag, texts] of Object.entries(site.languages)) languageFaults(tag, texts, fault)
  return faults
}

function editFaults(id: string, edit: SiteWork['edits'][string], known: (path: string, found: readonly string[], expected: readonly string[]) => void, fault: (path: string, message: string) => void): void {
  const item = WORK_CATALOGUE.find((candidate) => candidate.id === id)
  if (item === undefined) {
    fault(`edits.${id}`, 'is no job of the catalogue; add it under jobs')
    return
  }
  if (edit.people !== undefined && edit.people < item.people) fault(`edits.${id}.people`, `expected at least ${item.people}, as the catalogue asks for`)
  known(`edits.${id}.cautions`, edit.cautions ?? [], CAUTION_IDS)
  known(`edits.${id}.products`, edit.products ?? [], item.products)
  const usual = START_INTERVALS.find(({ work }) => work === id)
  if (item.safety && edit.interval !== undefined && usual !== undefined && (edit.interval.scale !== 'running-hours' || edit.interval.start > usual.startHours)) fault(`edits.${id}.interval`, `expected at most ${usual.startHours} running hours: a safety item is never lengthened`)
  // A text of one's own in one language only would leave the other with different steps.
  const given = LANGUAGES.filter((language) => edit.texts?.[language] !== undefined)
  if (edit.texts !== undefined && given.length < LANGUAGES.length) fault(`edits.${id}.texts`, `expected a text in each of ${LANGUAGES.join(', ')}`)
}

function languageFaults(tag: string, texts: SiteWork['languages'][string], fault: (path: string, message: string) => void): void {
  const missing = (kind: 'jobs' | 'cautions' | 'isolation' | 'returns', ids: readonly string[]): void => {
    const without = ids.filter((id) => texts[kind][id] === undefined)
    if (without.length > 0) fault(`languages.${tag}.${kind}`, `has no text for ${without.slice(0, 8).join(', ')}${without.length > 8 ? ` and ${without.length - 8} more` : ''}`)
  }
  if ((LANGUAGES as readonly string[]).includes(tag)) fault(`languages.${tag}`, 'is a language of the package; change single jobs under edits')
  missing('jobs', WORK_CATALOGUE.map((item) => item.id))
  missing('cautions', CAUTION_IDS)
  missing('isolation', ISOLATION_STEPS)
  missing('returns', RETURN_STEPS)
}
