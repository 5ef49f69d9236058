import { channelTable, wantedChannels, type PublishedChannel } from './channel-table.js'
import { DEFECT_KINDS } from './defect-model.js'
import { RandomStream } from './random-stream.js'
import type { SimulatedLine } from './simulated-line.js'
import type { DataTrap, SimulationConfig } from './simulation-config.js'
import type { SiteParameters } from './site-parameters.js'

/** One logging tick. The arrays are used again at the next tick. */
export interface SimulatedSample {
  /** Stamp as published, ms UTC; a clock that jumps makes it differ from `trueMs`. */
  timeMs: number
  trueMs: number
  /** Channel and value, all stamped `timeMs`. */
  values: [channel: string, value: number | string][]
  /** Values that arrive now but carry an earlier stamp: inspection results and whatever is reported late. */
  delayed: [channel: string, value: number | string, timeMs: number][]
}

interface OutputChannel {
  readonly channel: PublishedChannel
  readonly periodS: number
  readonly pair: [string, number | string]
  readonly step: number
  readonly deadBand: number
  readonly dropouts: readonly Extract<DataTrap, { kind: 'dropout' }>[]
  nextS: number
  last: number | string | undefined
}

const DEFECT_DELAY_S = [90, 300] as const

/** Publishes the line's channels at their own periods, with the rounding, losses and lies of real telemetry. */
export class TelemetryOutput {
  readonly published: readonly { readonly channel: string; readonly periodS: number; readonly perBoard: boolean }[]
  private readonly outputs: OutputChannel[]
  private readonly topside: OutputChannel | undefined
  private readonly defects: readonly (OutputChannel | undefined)[]
  private readonly current: SimulatedSample = { timeMs: 0, trueMs: 0, values: [], delayed: [] }
  private readonly random: RandomStream
  private readonly duplicateShare: number
  private readonly offPeriodS: number
  private readonly jumps: readonly Extract<DataTrap, { kind: 'clock-jump' }>[]
  private readonly late: readonly Extract<DataTrap, { kind: 'late' }>[]
  private readonly waiting: { dueMs: number; channel: string; value: number | string; timeMs: number }[] = []
  private nextAnyS = 0
  private readonly hasOnChange: boolean
  private repeatPending = false

  constructor(
    config: SimulationConfig,
    site: SiteParameters,
    private readonly line: SimulatedLine,
  ) {
    const traps = config.traps ?? []
    const chosen = wantedChannels(channelTable(line, site, config.seed), config.channels)
    const all = chosen.map((channel) => outputOf(channel, config, traps))
    this.published = all.map(({ channel, periodS }) => ({ channel: channel.id, periodS, perBoard: channel.arrival === 'per-board' }))
    this.outputs = all.filter((output) => output.channel.arrival !== 'per-board')
    this.hasOnChange = this.outputs.some((output) => output.channel.arrival === 'on-change')
    this.topside = all.find((output) => output.channel.id === 'board.topside-temperature')
    this.defects = DEFECT_KINDS.map((kind) => all.find((output) => output.channel.id === `board.defects.${kind}`))
    line.results.collecting = this.topside !== undefined || this.defects.some((output) => output !== undefined)
    this.random = new RandomStream(config.seed, 'output')
    this.offPeriodS = config.offPeriodS ?? 0
    this.duplicateShare = traps.find((trap) => trap.kind === 'duplicates')?.share ?? 0
    this.jumps = traps.filter((trap) => trap.kind === 'clock-jump')
    this.late = traps.filter((trap) => trap.kind === 'late')
  }

  /** The last sample once more, when the source stutters. */
  repeat(): SimulatedSample | undefined {
    if (!this.repeatPending) return undefined
    this.repeatPending = false
    return this.current
  }

  /** What is published in this second; undefined when nothing is. */
  sample(): SimulatedSample | undefined {
    const { line, current } = this
    const { elapsedS } = line
    const { waiting } = line.results
    if (elapsedS < this.nextAnyS && waiting.length === 0 && this.waiting.length === 0 && !this.hasOnChange) return undefined
    current.values.length = 0
    current.delayed.length = 0
    current.trueMs = line.timeMs
    current.timeMs = this.jumps.length === 0 ? line.timeMs : this.stamp(line.timeMs, elapsedS)
    this.nextAnyS = Infinity
    const isOff = line.schedule.state === 'off'
    for (const output of this.outputs) {
      if (elapsedS >= output.nextS) {
        output.nextS = elapsedS + (isOff && output.channel.arrival === 'streaming' ? Math.max(output.periodS, this.offPeriodS) : output.periodS)
        this.publish(output, output.channel.read(), elapsedS)
      } else if (output.channel.arrival === 'on-change') {
        const value = output.channel.read()
        if (value !== output.last) this.publish(output, value, elapsedS)
      }
      if (output.nextS < this.nextAnyS) this.nextAnyS = output.nextS
    }
    if (waiting.length > 0) this.takeResults(elapsedS)
    if (this.waiting.length > 0) this.releaseLate(line.timeMs)
    if (current.values.length === 0 && current.delayed.length === 0) return undefined
    if (this.duplicateShare > 0) this.repeatPending = this.random.chance(this.duplicateShare)
    return current
  }

  private publish(output: OutputChannel, raw: number | string, elapsedS: number): void {
    let value = raw
    if (typeof value === 'number' && output.step > 0) value = roundTo(value, output.step)
    if (output.channel.arrival === 'on-change') output.last = raw
    for (const trap of output.dropouts) {
      const hours = elapsedS / 3600
      if (hours < trap.atHours || hours >= trap.atHours + trap.hours) continue
      if (trap.code === 'gap') return
      value = trap.code === 'hold' ? (output.last ?? value) : trap.code
      this.push(output, value)
      return
    }
    if (output.deadBand > 0 && typeof value === 'number' && typeof output.last === 'number' && Math.abs(value - output.last) <= output.deadBand) return
    if (output.channel.arrival !== 'on-change') output.last = value
    const late = this.late.length > 0 ? this.late.find((trap) => matches(trap.channel, output.channel.id)) : undefined
    if (late !== undefined) {
      this.waiting.push({ dueMs: this.line.timeMs + Math.round(this.random.uniform(late.hours[0], late.hours[1]) * 3_600_000), channel: output.channel.id, value, timeMs: this.current.timeMs })
      return
    }
    this.push(output, value)
  }

  private push(output: OutputChannel, value: number | string): void {
    output.pair[1] = value
    this.current.values.push(output.pair)
  }

  /** Boards that have left the wave: topside temperature at once, inspection later. */
  private takeResults(elapsedS: number): void {
    for (const result of this.line.results.waiting) {
      if (this.topside !== undefined) this.publish(this.topside, result.topsideC, elapsedS)
      this.defects.forEach((output, index) => {
        if (output === undefined) return
        const late = this.late.find((trap) => matches(trap.channel, output.channel.id))
        const delayS = late === undefined ? this.random.uniform(...DEFECT_DELAY_S) : 3600 * this.random.uniform(late.hours[0], late.hours[1])
        this.waiting.push({ dueMs: this.line.timeMs + Math.round(delayS) * 1000, channel: output.channel.id, value: result.defects[index]!, timeMs: this.stamp(result.timeMs, elapsedS) })
      })
    }
    this.line.results.waiting.length = 0
  }

  private releaseLate(nowMs: number): void {
    let kept = 0
    for (const entry of this.waiting) {
      if (entry.dueMs <= nowMs) this.current.delayed.push([entry.channel, entry.value, entry.timeMs])
      else this.waiting[kept++] = entry
    }
    this.waiting.length = kept
  }

  private stamp(trueMs: number, elapsedS: number): number {
    let shiftS = 0
    for (const jump of this.jumps) {
      const hours = elapsedS / 3600
      if (hours >= jump.atHours && (jump.hours === undefined || hours < jump.atHours + jump.hours)) shiftS += jump.seconds
    }
    return trueMs + shiftS * 1000
  }
}

function outputOf(channel: PublishedChannel, config: SimulationConfig, traps: readonly DataTrap[]): OutputChannel {
  const periods = config.periodsS ?? {}
  const periodS = periods[channel.id] ?? periods[channel.pattern] ?? (channel.arrival === 'streaming' ? periods['*'] : undefined) ?? channel.periodS
  let step = channel.quantum
  let deadBand = 0
  for (const trap of traps) {
    if (trap.kind === 'quantisation' && matches(trap.channel, channel.id)) step = Math.max(step, trap.step)
    if (trap.kind === 'dead-band' && matches(trap.channel, channel.id)) deadBand = trap.width
  }
  const dropouts = traps.filter((trap) => trap.kind === 'dropout' && matches(trap.channel, channel.id)) as Extract<DataTrap, { kind: 'dropout' }>[]
  return { channel, periodS, pair: [channel.id, 0], step, deadBand, dropouts, nextS: periodS, last: undefined }
}

/** Does a channel id match an id, or a beginning followed by `*`? */
function matches(pattern: string, id: string): boolean {
  return pattern.endsWith('*') ? id.startsWith(pattern.slice(0, -1)) : pattern === id
}

/** Rounds to a step without the tail of binary fractions. */
function roundTo(value: number, step: number): number {
  const perUnit = 1 / step
  const whole = Math.round(perUnit)
  return Math.abs(perUnit - whole) < 1e-9 ? Math.round(value * whole) / whole : Math.round(value / step) * step
}
