import { ApiError, ask, at, post, postPhoto } from './api-client.js'

/** A job as the service tells it; times are ISO 8601 UTC. */
export interface JobView {
  readonly id: string
  readonly shortCode: string
  readonly line: string
  readonly work: string
  readonly title: string
  readonly section: string
  readonly sectionTitle: string
  readonly zone?: number
  readonly status: string
  readonly statusText: string
  readonly statusTime: string
  readonly raised: string
  readonly sourceText: string
  readonly urgency: string
  readonly urgentText?: string
  readonly until?: string
  readonly doNotStart?: { readonly key: string; readonly text: string; readonly since: string; readonly ranAnyway?: string; readonly ranAnywayText?: string }
  readonly followUp?: { readonly work: string; readonly title: string }
  readonly holders: readonly { readonly holder?: string; readonly since: string }[]
  readonly by?: string
  readonly part?: string
  readonly dismantled?: string
  readonly reason?: string
  readonly record?: string
  readonly peopleNeeded: number
  readonly peopleAtWork?: number
  readonly forLoneShift: boolean
  readonly qualification: string
  readonly needsElectrician: boolean
  readonly safety: boolean
  readonly minutes: { readonly low: number; readonly likely: number; readonly planned: number; readonly basis: string; readonly records: number }
  readonly tools: readonly string[]
  readonly cautions: readonly { readonly caution: string; readonly text: string }[]
  readonly before: readonly StepText[]
  readonly steps: readonly string[]
  readonly verification: string
  readonly after: readonly (StepText & { readonly done: boolean })[]
  readonly begun: boolean
  readonly products: readonly { readonly product: string; readonly title: string }[]
  readonly passIf: readonly PassCriterion[]
  readonly instruction?: { readonly id: string; readonly revision: string }
  readonly actions: readonly string[]
}

export interface StepText {
  readonly step: string
  readonly text: string
}

export interface PassCriterion {
  readonly value: string
  readonly unit: string
  readonly lower?: number
  readonly upper?: number
}

/** A job of the catalogue. */
export interface WorkChoice {
  readonly work: string
  readonly title: string
  readonly section: string
  readonly kind: string
  readonly people: number
  readonly needsElectrician: boolean
  readonly products: JobView['products']
  readonly passIf: readonly PassCriterion[]
}

export interface Choice {
  readonly id: string
  readonly title: string
}

export const jobs = {
  open: async (language: string): Promise<readonly JobView[]> => (await ask<{ jobs: JobView[] }>(`jobs?lang=${at(language)}`)).jobs,
  /** By the id or the short code of its card; undefined where there is none. */
  one: async (idOrCode: string, language: string): Promise<JobView | undefined> => {
    try {
      return await ask<JobView>(`jobs/${at(idOrCode)}?lang=${at(language)}`)
    } catch (error) {
      if (error instanceof ApiError && error.status === 404) return undefined
      throw error
    }
  },
  reasons: (language: string): Promise<{ readonly putOff: readonly Choice[]; readonly drop: readonly Choice[] }> => ask(`job-reasons?lang=${at(language)}`),
  work: async (line: string, language: string): Promise<readonly WorkChoice[]> => (await ask<{ work: WorkChoice[] }>(`lines/${at(line)}/work?lang=${at(language)}`)).work,
  step: (line: string, entry: Readonly<Record<string, unknown>>, language: string): Promise<unknown> => post(`lines/${at(line)}/entries?lang=${at(language)}`, { type: 'job', ...entry }),
  record: (line: string, record: Readonly<Record<string, unknown>>, language: string): Promise<unknown> => post(`lines/${at(line)}/records?lang=${at(language)}`, record),
  photo: (line: string, file: File): Promise<unknown> => postPhoto(`lines/${at(line)}/photos?name=${at(file.name.slice(0, 80))}`, file),
}
