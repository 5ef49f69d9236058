import type { TrackState } from './channel-track.js'

export type ChannelQualityStatus = 'learning' | 'good' | 'frozen' | 'silent' | 'quantised' | 'dead-banded'

/** What is known of one channel's readings, for a person. */
export interface ChannelQuality {
  readonly channel: string
  readonly status: ChannelQualityStatus
  /** Median time between readings, s. */
  readonly periodS: number
  /** Smallest step seen, in the channel's unit; 0 while unknown. */
  readonly resolution: number
  readonly lastMs: number
  /** Why features of this channel are missing, en-US; empty when none are. */
  readonly reason: string
}

/** Silent after three periods, and at least a minute. */
const SILENT_PERIODS = 3
const SILENT_MS_MIN = 60_000

export function qualityOf(channel: string, track: TrackState, isJudged: boolean, nowMs: number): ChannelQuality {
  const { periodS, resolution, lastMs } = track
  // values on change, per board or by hand have no period to miss
  if (!isJudged) return { channel, status: 'good', periodS, resolution, lastMs, reason: '' }
  const silent = nowMs - lastMs > Math.max(SILENT_MS_MIN, SILENT_PERIODS * periodS * 1000)
  const status: ChannelQualityStatus = track.frozen ? 'frozen' : silent ? 'silent' : track.verdict
  return { channel, status, periodS, resolution, lastMs, reason: reasonFor(status, track) }
}

function reasonFor(status: ChannelQualityStatus, track: TrackState): string {
  switch (status) {
    case 'frozen':
      return `the same value ${track.run + 1} times in a row: the sensor or its connection stands still; no features until it moves`
    case 'silent':
      return 'no readings for more than three periods; no features until they come again'
    case 'quantised':
      return `rounded so coarsely${track.resolution > 0 ? ` (steps of ${Number(track.resolution.toPrecision(3))})` : ''} that most neighbours are equal; features of its variation are off`
    case 'dead-banded':
      return `only changes larger than about ${Number(track.meanStep.toPrecision(2))} arrive (a dead-band at the source); features of its variation are off`
    case 'learning':
      return 'too few readings in production yet to judge its resolution; features of its variation wait'
    case 'good':
      return ''
  }
}
