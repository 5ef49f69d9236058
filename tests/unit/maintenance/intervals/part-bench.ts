import { parseLineDefinition, type LineDefinition } from '../../../../src/line/line-definition.js'
import { createIntervalPart } from '../../../../src/maintenance/intervals/interval-part.js'
import type { IntervalFact } from '../../../../src/maintenance/intervals/interval-fact.js'
import type { MaintenanceFact } from '../../../../src/maintenance/maintenance-fact.js'
import type { MaintenanceAsks, MaintenanceContext, MaintenancePart } from '../../../../src/maintenance/maintenance-part.js'
import type { WorkRecord } from '../../../../src/maintenance/suggestion.js'

export const START_MS = Date.UTC(2026, 0, 5)
export const HOUR_MS = 3_600_000

export function defineLine(input: object = {}): LineDefinition {
  const parsed = parseLineDefinition({ line: 'north-1', simulated: true, ...input })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  return parsed.definition
}

/** The intervals part of one line that runs without a stop, hour by hour. */
export class IntervalBench {
  readonly facts: IntervalFact[] = []
  readonly definition: LineDefinition
  part: MaintenancePart
  hour = 0
  boards = 0
  private state: 'off' | 'production' = 'production'
  private readonly asks: MaintenanceAsks = { emit: (fact) => this.keep(fact), chart: () => undefined, learnCause: () => undefined }

  constructor(definition: object = {}, private readonly boardsPerHour = 0) {
    this.definition = defineLine(definition)
    this.part = createIntervalPart(this.definition, undefined)
    this.part.state?.({ timeMs: START_MS, state: 'production', previous: 'off', recipe: 'a', because: 'test' }, this.context, this.asks)
    this.tick()
  }

  get nowMs(): number {
    return START_MS + this.hour * HOUR_MS
  }

  private get context(): MaintenanceContext {
    return { nowMs: this.nowMs, state: this.state, recipe: 'a', definition: this.definition }
  }

  private keep(fact: MaintenanceFact): void {
    if (fact.type === 'interval') this.facts.push(fact)
  }

  private tick(): void {
    this.part.tick?.([], this.context, this.asks)
  }

  run(hours: number): this {
    for (let done = 0; done < hours; done += 0.5) {
      this.hour += Math.min(0.5, hours - done)
      this.boards += this.boardsPerHour / 2
      if (this.boardsPerHour > 0) this.part.reading?.({ channel: 'board.count', timeMs: this.nowMs, value: Math.round(this.boards) }, this.context, this.asks)
      this.tick()
    }
    return this
  }

  /** The line stands: time goes by, nothing is used. */
  stand(hours: number): this {
    this.goOver('off', 'production')
    for (let done = 0; done < hours; done += 0.5) {
      this.hour += Math.min(0.5, hours - done)
      this.tick()
    }
    this.goOver('production', 'off')
    return this
  }

  private goOver(state: 'off' | 'production', previous: 'off' | 'production'): void {
    this.state = state
    this.part.state?.({ timeMs: this.nowMs, state, previous, recipe: 'a', because: 'test' }, this.context, this.asks)
  }

  record(work: string, finding?: number, rest: Partial<WorkRecord> = {}): this {
    const record: WorkRecord = { id: `${work}-${this.hour}`, timeMs: this.nowMs, section: 'transport', work, ...(finding === undefined ? {} : { finding }), ...rest }
    this.part.record?.(record, this.context, this.asks)
    return this
  }

  fact(fact: MaintenanceFact): this {
    this.part.fact?.(fact, this.context, this.asks)
    return this
  }

  suggest(suggestion: Parameters<NonNullable<MaintenancePart['suggestion']>>[0]): this {
    this.part.suggestion?.(suggestion, this.context, this.asks)
    return this
  }

  restart(): this {
    this.part = createIntervalPart(this.definition, JSON.parse(JSON.stringify(this.part.snapshot())))
    return this
  }

  last(work: string, zone?: number): IntervalFact {
    const fact = this.facts.findLast((one) => one.work === work && one.zone === zone)
    if (fact === undefined) throw new Error(`no interval of ${work}`)
    return fact
  }

  priors(): ReturnType<NonNullable<MaintenancePart['priors']>> {
    return this.part.priors?.(this.context) ?? {}
  }
}
