import type { Reading, Rejection } from '../reading.js'
import type { BoundChannel } from './channel-binding.js'
import { shortened } from './shortened.js'

/** Where readings leave the buffer, in order, and what it refuses. */
export interface BufferSink {
  release(reading: Reading): void
  reject(rejection: Rejection): void
  /** A source's clock was set back: times begin again at `timeMs`, the newest before was `beforeMs`. */
  epoch(timeMs: number, beforeMs: number): void
}

/** One channel's place in time. */
interface ChannelTime {
  readonly channel: string
  /** Newest time taken; `undefined` before the first reading of the epoch. */
  maxSeenMs?: number
  lastReleasedMs?: number
  /** Run of older stamps that may be a clock set back. */
  lateCount: number
  lateFirstMs: number
  lateLastMs: number
  lateReceivedMs: number
  /** Value of `acceptedCount` when the run began. */
  lateAccepted: number
  /** Times lately let through of a channel that is not held; newest last. */
  recentMs?: number[]
}

/** State between readings: plain JSON. */
export interface ReadingBufferState {
  channels: ChannelTime[]
  /** Held readings, oldest first. */
  held: Reading[]
  /** Newest time of all channels that are held; absent before the first. */
  lineMaxMs?: number
  /** Everything before it has been let go; absent before the first. */
  watermarkMs?: number
  /** Streaming readings taken in their time. */
  acceptedCount: number
  /** Readings let go early because the buffer was full. */
  forcedCount: number
}

export interface ReadingBufferOptions {
  /** How late a reading may come and still count, ms. */
  readonly latenessMs: number
  /** A simulated line takes its clock from its data, so nothing is ahead of reception. */
  readonly ownClock: boolean
  /** Most readings held; the oldest go early beyond it. */
  readonly heldCountMax?: number
}

/** Puts the readings of one line into the order of their own time. */
export interface ReadingBuffer {
  /** @param isRepeat the message it came in was sent again: an old stamp in it is no sign of a clock set back */
  take(reading: Reading, bound: BoundChannel, receivedMs: number, sink: BufferSink, isRepeat?: boolean): void
  /** Lets everything go: the end of the data. */
  flush(sink: BufferSink): void
  newestMs(channel: string): number | undefined
  /** Readings let go early because the buffer was full. */
  readonly forcedCount: number
  snapshot(): ReadingBufferState
}

const AHEAD_MS_MAX = 60_000
/** Older stamps in a row that make a new clock epoch. */
const EPOCH_RUN_COUNT = 20
/** Stamps of a clock set back rise as fast as time passes; those of a backlog sent again come in a burst. */
const EPOCH_PACE_SHARE_MIN = 0.5
const DELAYED_LATENESS_MS = 24 * 3_600_000
const RECENT_COUNT = 32
/** A channel slower than this does not hold the others up. */
const PACING_PERIOD_MS_MAX = 300_000
const HELD_COUNT_MAX = 50_000

/**
 * Holds readings until no earlier one can come any more within the line's lateness bound, so that arrivals shuffled
 * within the bound leave in the same order.
 *
 * The watermark is the newest time of the slowest streaming channel that is not silent, less the bound; it never goes
 * back. A channel is silent when it lies three of its periods, and the bound, behind the newest. What is older than the
 * watermark is refused as late; a second reading of the same channel and time as a duplicate. Per-board and
 * hand-measured values pass at once, up to a day late.
 *
 * @param bindings how each channel comes; asked once per channel
 * @param state what `snapshot()` gave, after a JSON round trip or not; taken over and changed in place
 */
export function createReadingBuffer(bindings: (channel: string) => BoundChannel | undefined, options: ReadingBufferOptions, state?: ReadingBufferState): ReadingBuffer {
  return new OrderedBuffer(bindings, options, state ?? { channels: [], held: [], acceptedCount: 0, forcedCount: 0 })
}

interface Pace {
  readonly rank: number
  /** Whether the watermark waits for the channel. */
  readonly paces: boolean
  readonly silentAfterMs: number
}

class OrderedBuffer implements ReadingBuffer {
  private readonly timeOf = new Map<string, ChannelTime>()
  private readonly paceOf = new Map<string, Pace>()
  private readonly pacing: { readonly time: ChannelTime; readonly pace: Pace }[] = []
  /** Held readings before this index have left; cut off now and then. */
  private head = 0
  /** Newest time of the slowest channels that are waited for, as last looked up, and how many are that slow; unknown at first and after a new epoch. */
  private slowestMs: number | undefined
  private slowestCount = 0

  constructor(
    bindings: (channel: string) => BoundChannel | undefined,
    private readonly options: ReadingBufferOptions,
    private readonly state: ReadingBufferState,
  ) {
    for (const time of state.channels) this.index(time, bindings(time.channel))
  }

  private index(time: ChannelTime, bound: BoundChannel | undefined): void {
    const paces = bound !== undefined && bound.channelKind.arrival === 'streaming' && bound.periodMs <= PACING_PERIOD_MS_MAX
    const pace: Pace = { rank: bound?.rank ?? 0, paces, silentAfterMs: Math.max(3 * (bound?.periodMs ?? 0), this.options.latenessMs) }
    this.timeOf.set(time.channel, time)
    this.paceOf.set(time.channel, pace)
    if (paces) this.pacing.push({ time, pace })
  }

  private timeFor(bound: BoundChannel): ChannelTime {
    const known = this.timeOf.get(bound.channel)
    if (known !== undefined) return known
    const time: ChannelTime = { channel: bound.channel, lateCount: 0, lateFirstMs: 0, lateLastMs: 0, lateReceivedMs: 0, lateAccepted: 0 }
    this.state.channels.push(time)
    this.index(time, bound)
    return time
  }

  take(reading: Reading, bound: BoundChannel, receivedMs: number, sink: BufferSink, isRepeat = false): void {
    if (!this.options.ownClock && reading.timeMs > receivedMs + AHEAD_MS_MAX) {
      return reject(sink, reading, 'from-the-future', `a time at most ${AHEAD_MS_MAX / 1000} s ahead of reception`)
    }
    const time = this.timeFor(bound)
    if (bound.channelKind.arrival === 'delayed') return this.takeDelayed(reading, time, sink)
    if (reading.timeMs === time.lastReleasedMs) return rejectDuplicate(sink, reading)
    const { watermarkMs } = this.state
    if (watermarkMs !== undefined && reading.timeMs < watermarkMs) return this.takeOld(reading, bound, time, receivedMs, sink, isRepeat)
    if (!this.hold(reading)) return rejectDuplicate(sink, reading)
    time.lateCount = 0
    if (bound.channelKind.arrival === 'streaming') this.state.acceptedCount += 1
    const seenMs = time.maxSeenMs
    const { lineMaxMs } = this.state
    if (seenMs === undefined || reading.timeMs > seenMs) time.maxSeenMs = reading.timeMs
    if (lineMaxMs === undefined || reading.timeMs > lineMaxMs) this.state.lineMaxMs = reading.timeMs
    if (lineMaxMs !== this.state.lineMaxMs || seenMs === undefined || !this.isHeldBack(seenMs) || this.isFull()) this.advance(sink)
  }

  flush(sink: BufferSink): void {
    const { held } = this.state
    for (; this.head < held.length; this.head++) this.release(held[this.head] as Reading, sink)
    held.length = 0
    this.head = 0
    // What was let go cannot be followed by anything earlier.
    if (this.state.lineMaxMs !== undefined) this.state.watermarkMs = Math.max(this.state.watermarkMs ?? this.state.lineMaxMs, this.state.lineMaxMs)
  }

  newestMs(channel: string): number | undefined {
    return this.timeOf.get(channel)?.maxSeenMs
  }

  get forcedCount(): number {
    return this.state.forcedCount
  }

  snapshot(): ReadingBufferState {
    this.cutHead()
    return structuredClone(this.state)
  }

  /** A value per board or by hand: no order to keep, only a day's bound and no doubles. */
  private takeDelayed(reading: Reading, time: ChannelTime, sink: BufferSink): void {
    const newestMs = Math.max(this.state.lineMaxMs ?? reading.timeMs, time.maxSeenMs ?? reading.timeMs)
    const recent = (time.recentMs ??= [])
    if (recent.includes(reading.timeMs)) return rejectDuplicate(sink, reading)
    if (reading.timeMs < newestMs - DELAYED_LATENESS_MS) return reject(sink, reading, 'late', 'at most 24 h behind the newest reading of the line')
    recent.push(reading.timeMs)
    if (recent.length > RECENT_COUNT) recent.shift()
    time.maxSeenMs = Math.max(time.maxSeenMs ?? reading.timeMs, reading.timeMs)
    time.lastReleasedMs = reading.timeMs
    sink.release(reading)
  }

  /** A stamp before the watermark: late, unless it is the first word of a channel that speaks on change, or a clock set back. */
  private takeOld(reading: Reading, bound: BoundChannel, time: ChannelTime, receivedMs: number, sink: BufferSink, isRepeat: boolean): void {
    if (bound.channelKind.arrival === 'on-change' && time.maxSeenMs === undefined) {
      // It has held since before the line was listened to, so it holds from the earliest moment that is still open.
      time.maxSeenMs = reading.timeMs
      time.lastReleasedMs = reading.timeMs
      this.hold({ ...reading, timeMs: this.state.watermarkMs as number })
      return
    }
    if (!isRepeat && this.isClockSetBack(reading, bound, time, receivedMs)) return this.openEpoch(reading, bound, receivedMs, sink)
    reject(sink, reading, 'late', `at most ${this.options.latenessMs / 1000} s behind the newest reading of the line`)
  }

  private isClockSetBack(reading: Reading, bound: BoundChannel, time: ChannelTime, receivedMs: number): boolean {
    if (bound.channelKind.arrival !== 'streaming') return false
    const { acceptedCount } = this.state
    // While other channels go on in their time, one that is behind is a source with a wrong clock, not a new epoch.
    const goesOn = time.lateCount > 0 && reading.timeMs > time.lateLastMs && acceptedCount === time.lateAccepted
    if (!goesOn) {
      time.lateCount = 0
      time.lateFirstMs = reading.timeMs
      time.lateReceivedMs = receivedMs
      time.lateAccepted = acceptedCount
    }
    time.lateCount += 1
    time.lateLastMs = reading.timeMs
    if (time.lateCount < EPOCH_RUN_COUNT) return false
    return this.options.ownClock || receivedMs - time.lateReceivedMs >= EPOCH_PACE_SHARE_MIN * (reading.timeMs - time.lateFirstMs)
  }

  private openEpoch(reading: Reading, bound: BoundChannel, receivedMs: number, sink: BufferSink): void {
    const beforeMs = this.state.lineMaxMs ?? reading.timeMs
    this.flush(sink)
    for (const time of this.state.channels) {
      delete time.maxSeenMs
      delete time.lastReleasedMs
      delete time.recentMs
      time.lateCount = 0
    }
    delete this.state.lineMaxMs
    delete this.state.watermarkMs
    this.slowestMs = undefined
    sink.epoch(reading.timeMs, beforeMs)
    this.take(reading, bound, receivedMs, sink)
  }

  /** Puts a reading in its place among the held; false if one of the same channel and time is there. */
  private hold(reading: Reading): boolean {
    const { held } = this.state
    const place = this.placeOf(reading)
    const before = place > this.head ? held[place - 1] : undefined
    if (before !== undefined && before.timeMs === reading.timeMs && before.channel === reading.channel) return false
    if (place === held.length) held.push(reading)
    else held.splice(place, 0, reading)
    return true
  }

  /** Index behind the last held reading that is not after this one: nearly always the end, else found by halving. */
  private placeOf(reading: Reading): number {
    const { held } = this.state
    let high = held.length
    let step = 1
    while (high > this.head && this.isAfter(held[high - 1] as Reading, reading)) {
      const low = Math.max(this.head, high - step)
      if (!this.isAfter(held[low] as Reading, reading)) return this.halve(reading, low + 1, high)
      high = low
      step *= 2
    }
    return high
  }

  private halve(reading: Reading, from: number, to: number): number {
    let low = from
    let high = to
    while (low < high) {
      const middle = (low + high) >>> 1
      if (this.isAfter(this.state.held[middle] as Reading, reading)) high = middle
      else low = middle + 1
    }
    return low
  }

  private isAfter(one: Reading, other: Reading): boolean {
    if (one.timeMs !== other.timeMs) return one.timeMs > other.timeMs
    if (one.channel === other.channel) return false
    const rank = this.rankOf(one.channel) - this.rankOf(other.channel)
    return rank === 0 ? one.channel > other.channel : rank > 0
  }

  private rankOf(channel: string): number {
    return this.paceOf.get(channel)?.rank ?? 0
  }

  private advance(sink: BufferSink): void {
    const { state } = this
    const watermarkMs = this.nextWatermarkMs(state.lineMaxMs as number)
    if (state.watermarkMs === undefined || watermarkMs > state.watermarkMs) state.watermarkMs = watermarkMs
    const { held } = state
    // A reading of exactly the watermark's time waits: another of that time may still come and belong before it.
    while (this.head < held.length && (held[this.head] as Reading).timeMs < state.watermarkMs) this.release(held[this.head++] as Reading, sink)
    while (this.isFull()) {
      const oldest = held[this.head++] as Reading
      state.watermarkMs = Math.max(state.watermarkMs, oldest.timeMs)
      state.forcedCount += 1
      this.release(oldest, sink)
    }
    if (this.head > 256 && this.head * 2 > held.length) this.cutHead()
  }

  /** The slowest channels hold the watermark back: while the line's newest time stands, only the step of the last of them moves it. */
  private isHeldBack(seenMs: number): boolean {
    if (this.slowestMs === undefined || seenMs < this.slowestMs) return false
    if (seenMs > this.slowestMs) return true
    this.slowestCount -= 1
    return this.slowestCount > 0
  }

  private isFull(): boolean {
    return this.state.held.length - this.head > (this.options.heldCountMax ?? HELD_COUNT_MAX)
  }

  private nextWatermarkMs(lineMaxMs: number): number {
    let slowestMs = lineMaxMs
    let count = 0
    for (const { time, pace } of this.pacing) {
      const seenMs = time.maxSeenMs
      if (seenMs === undefined || seenMs > slowestMs || seenMs < lineMaxMs - pace.silentAfterMs) continue
      count = seenMs < slowestMs ? 1 : count + 1
      slowestMs = seenMs
    }
    this.slowestMs = slowestMs
    this.slowestCount = count
    return slowestMs - this.options.latenessMs
  }

  private release(reading: Reading, sink: BufferSink): void {
    const time = this.timeOf.get(reading.channel)
    if (time !== undefined && (time.lastReleasedMs === undefined || reading.timeMs > time.lastReleasedMs)) time.lastReleasedMs = reading.timeMs
    sink.release(reading)
  }

  private cutHead(): void {
    this.state.held.splice(0, this.head)
    this.head = 0
  }
}

function rejectDuplicate(sink: BufferSink, reading: Reading): void {
  reject(sink, reading, 'duplicate', 'one reading of a channel per time')
}

function reject(sink: BufferSink, reading: Reading, reason: Rejection['reason'], expected: string): void {
  sink.reject({ reason, where: reading.channel, timeMs: reading.timeMs, found: shortened(`${reading.value} at ${new Date(reading.timeMs).toISOString()}`), expected })
}
