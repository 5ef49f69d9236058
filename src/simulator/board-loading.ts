import { RandomStream } from './random-stream.js'
import type { HabitParameters } from './site-parameters.js'

/** Puts boards on the line: one per interval with jitter, in batches with pauses between them. */
export class BoardLoading {
  count = 0
  private waitS = 1
  private batchLeftS: number
  private batching = true
  private readonly random: RandomStream

  constructor(
    private readonly habits: HabitParameters,
    seed: number,
  ) {
    this.random = new RandomStream(seed, 'boards')
    this.batchLeftS = habits.batchOnS
  }

  /** One second of production; true when a board is put on. A jerky chain makes the intervals uneven. */
  step(intervalS: number, extraJitterS = 0): boolean {
    if (this.habits.batchOffS > 0) {
      if (this.batchLeftS <= 0) {
        this.batching = !this.batching
        this.batchLeftS += this.batching ? this.habits.batchOnS : this.habits.batchOffS
        if (this.batching) this.waitS = 1
      }
      this.batchLeftS -= 1
      if (!this.batching) return false
    }
    this.waitS -= 1
    if (this.waitS > 0) return false
    this.waitS += Math.max(0.4 * intervalS, intervalS + Math.hypot(this.habits.intervalJitterS, extraJitterS) * this.random.gaussian())
    this.count += 1
    return true
  }
}
