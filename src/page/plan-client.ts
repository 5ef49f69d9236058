import { ask, at, post } from './api-client.js'

export interface DueView {
  readonly work: string
  readonly title: string
  readonly section: string
  readonly zone?: number
  readonly place: string
  readonly minutes: readonly [number, number, number]
  readonly basis: 'hand' | 'washing-machine' | 'spare-set' | 'neglected'
  readonly records: number
  readonly people: number
  readonly needsElectrician: boolean
  readonly urgency: string
  readonly due?: string
  readonly suggestion?: string
  readonly parts: readonly { readonly item: string; readonly title: string; readonly ready?: number }[]
  readonly because: readonly string[]
}

export interface PlanItemView extends DueView {
  readonly line: string
  readonly lineTitle: string
  readonly reason: string
  readonly reasonKey: string
}

export interface PlanStopView {
  readonly id: string
  readonly line: string
  readonly title: string
  readonly from: string
  readonly until: string
  readonly minutes: number
  readonly shift: string
  readonly production: boolean
  readonly people: number
  readonly peopleOnShift: number
  readonly setUp: { readonly isolation: number; readonly coolDown: number; readonly back: number; readonly warmUp: number }
  readonly sharedMinutes: number
  readonly agreed: boolean
  readonly late: boolean
  readonly part?: { readonly number: number; readonly of: number }
  readonly asked?: string
  readonly jobs: readonly (DueView & { readonly from: string; readonly until: string })[]
}

export interface PlanView {
  readonly week: string
  readonly current?: string
  readonly previous: string
  readonly next: string
  readonly timeZone: string
  readonly from: string
  readonly until: string
  readonly digest: string
  readonly agreed: boolean
  readonly agreedLines: readonly string[]
  readonly stops: readonly PlanStopView[]
  readonly now: readonly PlanItemView[]
  readonly unplanned: readonly PlanItemView[]
  readonly later: readonly PlanItemView[]
  readonly rounds: readonly { readonly line: string; readonly title: string; readonly every: 'week' | 'month'; readonly count: number; readonly minutes: number; readonly overdue: number; readonly dueBy: string }[]
  readonly shifts: readonly { readonly line: string; readonly name: string; readonly from: string; readonly until: string; readonly people: number; readonly production: boolean }[]
}

export interface LedgerStop {
  readonly id: string
  readonly line: string
  readonly title: string
  readonly asked: string
  readonly status: string
  readonly from?: string
  readonly minutes?: number
  readonly work: readonly string[]
  readonly answer: string
  readonly followed: string
  readonly followedCount: number
}

export interface StockLine {
  readonly line: string
  readonly title: string
  readonly stock: readonly { readonly item: string; readonly title: string; readonly ready: number; readonly dirty: number; readonly atWasher: number; readonly counted: string; readonly moves: number; readonly isSet: boolean }[]
  readonly papers: readonly { readonly paper: string; readonly of: string; readonly reference: string; readonly from: string; readonly due: string; readonly state: string; readonly overdue: boolean }[]
}

export interface StockView {
  readonly lines: readonly StockLine[]
  readonly items: readonly { readonly item: string; readonly title: string }[]
  readonly works: readonly { readonly work: string; readonly title: string }[]
  readonly instruments: readonly { readonly instrument: string; readonly title: string }[]
}

export interface OverviewSection {
  readonly section: string
  readonly title: string
  readonly status: 'asks' | 'moving' | 'unseen' | 'no-data' | 'learning' | 'quiet'
  readonly since?: string
  readonly open: readonly { readonly id: string; readonly headline: string; readonly since: string; readonly probability: number; readonly words: string }[]
  readonly due: readonly { readonly title: string; readonly place: string; readonly due?: string; readonly because: readonly string[] }[]
  readonly unseen: readonly string[]
}

export interface OverviewLine {
  readonly line: string
  readonly title: string
  readonly simulated: boolean
  readonly timeZone: string
  readonly state: string
  readonly stateSince?: string
  readonly dataTime?: string
  readonly paused?: string
  readonly mustNotRun: readonly { readonly title: string; readonly place: string; readonly reason: string; readonly since: string }[]
  readonly suggestions: readonly { readonly id: string; readonly headline: string; readonly byWhen: string; readonly urgency: string; readonly section: string }[]
  readonly openJobs: number
  readonly due: number
  readonly overdue: number
  readonly hold?: { readonly since: string; readonly left: number; readonly minutes: number }
  readonly nextStop?: { readonly id: string; readonly from: string; readonly minutes: number; readonly agreed: boolean; readonly jobs: readonly string[] }
  readonly unseen: readonly string[]
  readonly unseenText: string
  readonly sections: readonly OverviewSection[]
}

export interface CostView {
  readonly from: string
  readonly until: string
  readonly currency: string
  readonly total: number
  readonly totalText: string
  readonly missing: readonly string[]
  /** The same in words. */
  readonly missingTexts: readonly string[]
  readonly rows: readonly { readonly month: string; readonly line: string; readonly title: string; readonly section: string; readonly sectionTitle: string; readonly kind: string; readonly kindTitle: string; readonly quantity: number; readonly amount?: number; readonly text: string }[]
  readonly earlier: readonly { readonly line: string; readonly title: string; readonly suggestion: string; readonly sectionTitle: string; readonly work: readonly string[]; readonly events: readonly string[]; readonly text: string; readonly assumption: string }[]
}

export interface MethodsView {
  readonly currency: string
  readonly verdict: string
  readonly verdictText: string
  readonly methods: readonly { readonly method: string; readonly gate: string; readonly gateText: string; readonly passes: string; readonly low?: number; readonly likely?: number; readonly high?: number; readonly text: string; readonly breakEvenText?: string }[]
}

const weekPart = (week: string | undefined): string => (week === undefined ? '' : `&week=${at(week)}`)

/** Plan, ledger, stock, costs and reports of the service. */
export const planApi = {
  overview: async (language: string): Promise<readonly OverviewLine[]> => (await ask<{ lines: OverviewLine[] }>(`overview?lang=${at(language)}`)).lines,
  plan: (language: string, week?: string): Promise<PlanView> => ask(`plan?lang=${at(language)}${weekPart(week)}`),
  agree: (plan: PlanView): Promise<unknown> => post('plan/agreements', { week: plan.week, action: 'agree', digest: plan.digest }),
  reopen: (plan: PlanView, reason: string): Promise<unknown> => post('plan/agreements', { week: plan.week, action: 'reopen', reason }),
  enter: (line: string, entry: object, language: string): Promise<unknown> => post(`lines/${at(line)}/entries?lang=${at(language)}`, entry),
  ledger: async (language: string): Promise<readonly LedgerStop[]> => (await ask<{ stops: LedgerStop[] }>(`stops?lang=${at(language)}`)).stops,
  stock: (language: string): Promise<StockView> => ask(`stock?lang=${at(language)}`),
  cost: (language: string, from?: string): Promise<CostView> => ask(`cost?lang=${at(language)}${from === undefined ? '' : `&from=${at(from)}`}`),
  methods: (line: string, language: string, surface: string, production: boolean): Promise<MethodsView> => ask(`lines/${at(line)}/cleaning-methods?lang=${at(language)}&production=${String(production)}${surface.trim() === '' ? '' : `&surface=${at(surface.trim().replace(',', '.'))}`}`),
  /** Addresses of what is opened or saved as it is. */
  calendarUrl: (language: string, week: string): string => `./api/plan.ics?lang=${at(language)}${weekPart(week)}`,
  planCsvUrl: (language: string, week: string): string => `./api/plan.csv?lang=${at(language)}${weekPart(week)}`,
  requestUrl: (language: string, week: string, stop: string): string => `./api/stop-request?stop=${at(stop)}&lang=${at(language)}${weekPart(week)}`,
  ledgerCsvUrl: (language: string): string => `./api/stops.csv?lang=${at(language)}`,
  costCsvUrl: (language: string): string => `./api/cost.csv?lang=${at(language)}`,
}
