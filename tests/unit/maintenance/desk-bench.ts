import type { Diagnosis, FeatureEvidence } from '../../../src/line/diagnosis.js'
import type { LineStateName } from '../../../src/line/feature-value.js'
import type { LineDefinition } from '../../../src/line/line-definition.js'
import { createSuggestionDesk, type SuggestionDesk } from '../../../src/maintenance/suggestion-desk.js'
import type { Suggestion, SuggestionReply, WorkRecord } from '../../../src/maintenance/suggestion.js'
import type { ReplyAnswer } from '../../../src/maintenance/suggestion-replies.js'
import { diagnoseMoves, evidenceOf } from '../line/diagnosis/diagnosis-cases.js'

export const START_MS = Date.UTC(2031, 4, 5, 6, 0, 0)
const LOOK_MS = 600_000
export const HOUR_MS = 3_600_000

/** Drives a desk by looks every ten minutes of the data's time, with the evidence given in sigmas. */
export class DeskBench {
  timeMs = START_MS
  desk: SuggestionDesk
  readonly emitted: Suggestion[] = []
  /** Windows each feature has stood. */
  private windows: Record<string, number> = {}

  constructor(
    readonly definition: LineDefinition,
    snapshot?: unknown,
  ) {
    this.desk = createSuggestionDesk(definition, snapshot)
  }

  readonly emit = (suggestion: Suggestion): void => {
    this.emitted.push(suggestion)
  }

  /** Looks for so many hours; a window of every feature closes with each look. */
  run(hours: number, moved: Readonly<Record<string, number>>, state: LineStateName = 'production', details: Partial<FeatureEvidence> = {}): this {
    for (let looks = Math.round((hours * HOUR_MS) / LOOK_MS); looks > 0; looks -= 1) this.look(moved, state, details)
    return this
  }

  look(moved: Readonly<Record<string, number>>, state: LineStateName = 'production', details: Partial<FeatureEvidence> = {}): void {
    this.timeMs += LOOK_MS
    this.windows = Object.fromEntries(Object.keys(moved).map((feature) => [feature, (this.windows[feature] ?? 0) + 1]))
    const evidence = evidenceOf(this.definition, moved, details).map((item) => (item.status === 'quiet' ? item : { ...item, windows: this.windows[item.feature]! }))
    this.consider(diagnoseMoves(this.definition, {}, { evidence, timeMs: this.timeMs }), state)
  }

  consider(diagnoses: readonly Diagnosis[], state: LineStateName = 'production'): void {
    this.desk.consider(diagnoses, { timeMs: this.timeMs, state, recipe: 'r1' }, this.emit)
  }

  reply(reply: SuggestionReply): ReplyAnswer {
    return this.desk.reply(reply, this.timeMs, this.emit)
  }

  record(work: string, more: Partial<WorkRecord> = {}): void {
    this.desk.record({ id: `r-${this.timeMs}-${work}`, timeMs: this.timeMs, section: 'transport', work, ...more }, more.timeMs ?? this.timeMs, this.emit)
  }

  /** Goes on from a snapshot through JSON. */
  restart(): this {
    this.desk = createSuggestionDesk(this.definition, JSON.parse(JSON.stringify(this.desk.snapshot())))
    return this
  }

  only(): Suggestion {
    const open = this.desk.open()
    if (open.length !== 1) throw new Error(`${open.length} open suggestions; expected 1`)
    return open[0]!
  }
}
