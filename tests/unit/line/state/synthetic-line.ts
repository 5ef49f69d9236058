import { parseLineDefinition, type LineDefinition } from '../../../../src/line/line-definition.js'
import type { Reading } from '../../../../src/line/reading.js'
import { createLineStateTracker, type LineStateChange, type LineStateTracker } from '../../../../src/line/state/line-state.js'

export const START_MS = Date.UTC(2026, 0, 5, 5)

export function define(input: object = {}): LineDefinition {
  const result = parseLineDefinition({ line: 'line-a', ...input })
  if (result.kind === 'faults') throw new Error(JSON.stringify(result.faults))
  return result.definition
}

/**
 * A line drawn with the simplest means: each zone a second-order loop with overshoot (63 % of a step in some 2 min), at most
 * 12 °C/min up and cooling towards the hall with 15 min; noise by a fixed linear congruential generator.
 */
export class SyntheticLine {
  timeMs = START_MS
  readonly changes: LineStateChange[] = []
  readonly tracker: LineStateTracker
  setpointsC: number[]
  speedMmS = 0
  heating = false
  /** °C added to all readings, and to single ones. */
  commonC = 0
  addedC: number[]
  /** Share by which each second's speed scatters. */
  jitterShare = 0.008
  boardCount = 0
  boardEveryS = 0
  publish = { setpoints: false, boards: false, speed: true, zones: [true, true, true] }
  periodS = 5
  zonesC: number[]
  private ratesC: number[]
  private seed = 1
  private seconds = 0

  constructor(options: { readonly setpointsC?: number[]; readonly snapshotOf?: LineStateTracker; readonly definition?: LineDefinition; readonly startC?: number } = {}) {
    this.setpointsC = options.setpointsC ?? [110, 130, 150]
    this.zonesC = this.setpointsC.map(() => options.startC ?? 28)
    this.ratesC = this.setpointsC.map(() => 0)
    this.addedC = this.setpointsC.map(() => 0)
    this.tracker = createLineStateTracker(options.definition ?? define())
  }

  noise(): number {
    let sum = 0
    for (let index = 0; index < 4; index++) {
      this.seed = (Math.imul(this.seed, 1_664_525) + 1_013_904_223) >>> 0
      sum += this.seed / 2 ** 32 - 0.5
    }
    return sum * Math.sqrt(3)
  }

  give(channel: string, value: number | string): void {
    this.tracker.take({ channel, timeMs: this.timeMs, value } satisfies Reading, (change) => this.changes.push(change))
  }

  run(minutes: number, each?: (minute: number) => void): this {
    for (let second = 0; second < minutes * 60; second++) {
      if (second % 60 === 0) each?.(second / 60)
      this.step()
    }
    return this
  }

  private step(): void {
    this.timeMs += 1000
    this.seconds += 1
    this.zonesC = this.zonesC.map((zoneC, index) => this.moveZone(zoneC, index))
    if (this.boardEveryS > 0 && this.seconds % this.boardEveryS === 0) this.boardCount += 1
    if (this.seconds % this.periodS === 0) {
      this.zonesC.forEach((zoneC, index) => {
        if (this.publish.zones[index] === true) this.give(`preheat.zone-${index + 1}.temperature`, Math.round(10 * (zoneC + this.commonC + (this.addedC[index] as number) + 0.3 * this.noise())) / 10)
      })
    }
    const jerky = this.speedMmS * (1 + this.jitterShare * this.noise())
    if (this.publish.speed && this.seconds % Math.min(this.periodS, 2) === 0) this.give('conveyor.speed', Math.max(0, jerky))
    if (this.seconds % 60 === 0 && this.publish.setpoints) this.setpointsC.forEach((setpointC, index) => this.give(`preheat.zone-${index + 1}.setpoint`, setpointC))
    if (this.seconds % 30 === 0 && this.publish.boards) this.give('board.count', this.boardCount)
  }

  private moveZone(zoneC: number, index: number): number {
    if (!this.heating) {
      this.ratesC[index] = 0
      return zoneC + (28 - zoneC) / 900
    }
    const omega = 0.011
    const rate = (this.ratesC[index] as number) + omega ** 2 * ((this.setpointsC[index] as number) - zoneC) - 2 * 0.5 * omega * (this.ratesC[index] as number)
    this.ratesC[index] = Math.min(0.2, Math.max((28 - zoneC) / 900, rate))
    return zoneC + (this.ratesC[index] as number)
  }

  /** States in the order they were taken, repeats left out. */
  states(): string[] {
    return this.changes.map(({ state }) => state).filter((state, index, all) => state !== all[index - 1])
  }

  recipes(): string[] {
    return [...new Set(this.changes.map(({ recipe }) => recipe))]
  }
}

/** A line with only temperatures and speed that has produced for an hour. */
export function producing(options: ConstructorParameters<typeof SyntheticLine>[0] = {}): SyntheticLine {
  const line = new SyntheticLine(options)
  line.run(20)
  line.heating = true
  line.run(15)
  line.speedMmS = 20
  return line.run(60)
}
