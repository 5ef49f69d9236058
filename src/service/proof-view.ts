import type { Language } from '../maintenance/catalogue-language.js'
import { workTitle } from '../maintenance/plan/plan-words.js'
import type { ProofFact } from '../maintenance/proof/proof-fact.js'
import { comparedTitle, proofReasonWords, proofVerdictWords, referenceWords } from '../maintenance/proof/proof-words.js'
import type { ReferenceFact } from '../maintenance/proof/reference-fact.js'
import { isoTime } from './output-json.js'
import type { SiteLine } from './site-view.js'

/** Whether work helped, as people read it. */
export interface ProofView {
  readonly id: string
  readonly record: string
  readonly work: string
  readonly title: string
  readonly section: string
  readonly zone?: number
  readonly suggestion?: string
  readonly verdict: ProofFact['verdict']
  readonly verdictText: string
  readonly reasons: readonly string[]
  readonly done: string
  readonly time: string
  readonly verdictBy?: string
  readonly offersReference: readonly { readonly feature: string; readonly title: string }[]
  readonly compared: readonly (ProofFact['compared'][number] & { readonly title: string })[]
}

export interface ReferenceView {
  readonly id: string
  readonly section: string
  readonly zone?: number
  readonly provisional: boolean
  readonly words: string
  readonly missing: readonly { readonly work: string; readonly title: string }[]
  readonly serviced?: string
  readonly offers: readonly (ReferenceFact['offers'][number] & { readonly title: string })[]
}

/** Proofs of a line, the work done last first. */
export function proofViews({ projection, definition }: Pick<SiteLine, 'projection' | 'definition'>, language: Language, limit: number): readonly ProofView[] {
  return [...projection.factsOf('proof')]
    .sort((a, b) => b.doneMs - a.doneMs || a.id.localeCompare(b.id))
    .slice(0, limit)
    .map((fact): ProofView => {
      const { id, record, work, section, zone, suggestion, verdict, doneMs, timeMs, verdictByMs, compared, offersReference = [] } = fact
      return {
        id,
        record,
        work,
        title: workTitle(work, language, definition),
        section,
        ...(zone === undefined ? {} : { zone }),
        ...(suggestion === undefined ? {} : { suggestion }),
        verdict,
        verdictText: proofVerdictWords(verdict, language),
        reasons: proofReasonWords(fact, language, definition.timeZone, definition),
        done: isoTime(doneMs),
        time: isoTime(timeMs),
        ...(verdictByMs === undefined ? {} : { verdictBy: isoTime(verdictByMs) }),
        offersReference: offersReference.map((feature) => ({ feature, title: comparedTitle(feature, language) })),
        compared: compared.map((one) => ({ ...one, title: comparedTitle(one.feature, language) })),
      }
    })
}

/** What the references of the sections are worth, in the order a board travels. */
export function referenceViews({ projection, definition }: Pick<SiteLine, 'projection' | 'definition'>, language: Language): readonly ReferenceView[] {
  const order = ['fluxer', 'preheat', 'transport', 'pot']
  return [...projection.factsOf('reference')]
    .sort((a, b) => order.indexOf(a.section) - order.indexOf(b.section) || (a.zone ?? 0) - (b.zone ?? 0))
    .map(({ id, section, zone, provisional, missing, servicedMs, offers }): ReferenceView => ({
      id,
      section,
      ...(zone === undefined ? {} : { zone }),
      provisional,
      words: referenceWords({ provisional, missing, offers }, language),
      missing: missing.map((work) => ({ work, title: workTitle(work, language, definition) })),
      ...(servicedMs === undefined ? {} : { serviced: isoTime(servicedMs) }),
      offers: offers.map((offer) => ({ ...offer, title: comparedTitle(offer.feature, language) })),
    }))
}
