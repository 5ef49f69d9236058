import { describe, expect, test } from 'vitest'
import { parseLineDefinition, type LineDefinition } from '../../../../src/line/line-definition.js'
import type { Reading, Rejection } from '../../../../src/line/reading.js'
import { compileBinding, type BoundChannel } from '../../../../src/line/telemetry/channel-binding.js'
import { createReadingBuffer, type BufferSink } from '../../../../src/line/telemetry/reading-buffer.js'
import { createRecentMessages } from '../../../../src/line/telemetry/recent-messages.js'
import { createTelemetryStage, type TelemetryInput } from '../../../../src/line/telemetry/telemetry-stage.js'

const T0 = Date.UTC(2026, 0, 5, 6)
const SPEED = 'conveyor.speed'
const ZONE = 'preheat.zone-1.temperature'

function define(input: unknown): LineDefinition {
  const result = parseLineDefinition(input)
  if (result.kind === 'faults') throw new Error(JSON.stringify(result.faults))
  return result.definition
}

interface Log extends BufferSink {
  readonly released: Reading[]
  readonly rejected: Rejection[]
  readonly epochs: [number, number][]
}

function collect(): Log {
  const released: Reading[] = []
  const rejected: Rejection[] = []
  const epochs: [number, number][] = []
  return { released, rejected, epochs, release: (reading) => released.push(reading), reject: (rejection) => rejected.push(rejection), epoch: (timeMs, beforeMs) => epochs.push([timeMs, beforeMs]) }
}

function build(input: { simulated?: boolean; heldCountMax?: number; channels?: { channel: string; periodS?: number; latenessS?: number }[] } = {}) {
  const definition = define({ line: 'line-a', simulated: input.simulated ?? false, channels: input.channels ?? [{ channel: SPEED, periodS: 1 }, { channel: ZONE, periodS: 5 }, { channel: 'line.recipe', latenessS: 1 }, { channel: 'board.topside-temperature' }] })
  const binding = compileBinding(definition)
  const buffer = createReadingBuffer((channel) => binding.channelOf(channel), { latenessMs: binding.latenessMs, ownClock: definition.simulated, ...(input.heldCountMax === undefined ? {} : { heldCountMax: input.heldCountMax }) })
  const log = collect()
  return {
    log,
    buffer,
    /** `receivedS` defaults to the reading's own time. */
    put(channel: string, atS: number, receivedS = atS, value: number | string = 20): void {
      buffer.take({ channel, timeMs: T0 + atS * 1000, value }, binding.channelOf(channel) as BoundChannel, T0 + receivedS * 1000, log)
    },
    reasons: () => log.rejected.map(({ reason }) => reason),
    releasedS: (channel: string) => log.released.filter((reading) => reading.channel === channel).map(({ timeMs }) => (timeMs - T0) / 1000),
  }
}

describe('watermark', () => {
  test('readings wait for the bound, and leave in the order of time', () => {
    const { put, releasedS, log } = build()
    put(SPEED, 0)
    put(SPEED, 2)
    put(SPEED, 1)
    put(SPEED, 10)
    expect(log.released).toEqual([])
    put(SPEED, 12)
    expect(releasedS(SPEED)).toEqual([0, 1])
  })

  test('the slowest channel that is not silent holds the line, a silent one does not', () => {
    const { put, releasedS } = build()
    put(ZONE, 0)
    for (let second = 0; second <= 15; second++) put(SPEED, second)
    // 15 s behind is three periods of the zone: not silent yet, so nothing may leave.
    expect(releasedS(SPEED)).toEqual([])
    put(SPEED, 16)
    expect(releasedS(ZONE)).toEqual([0])
    expect(releasedS(SPEED)).toEqual([0, 1, 2, 3, 4, 5])
  })

  test('a reading older than the watermark is late, one on it is not', () => {
    const { put, reasons, log } = build()
    put(SPEED, 100)
    put(ZONE, 90)
    put(ZONE, 89.999)
    expect(reasons()).toEqual(['late'])
    expect(log.rejected[0]).toMatchObject({ where: ZONE, timeMs: T0 + 89_999, expected: 'at most 10 s behind the newest reading of the line' })
  })

  test('the same channel and time is taken once, held or just released', () => {
    const { put, reasons, releasedS } = build()
    put(SPEED, 0)
    put(SPEED, 0)
    put(SPEED, 5)
    put(SPEED, 0)
    put(SPEED, 11)
    put(SPEED, 0)
    expect(reasons()).toEqual(['duplicate', 'duplicate', 'duplicate'])
    expect(releasedS(SPEED)).toEqual([0])
  })

  test('flush lets all go and what is older stays out', () => {
    const { put, buffer, log, releasedS, reasons } = build()
    put(SPEED, 3)
    put(SPEED, 1)
    buffer.flush(log)
    expect(releasedS(SPEED)).toEqual([1, 3])
    put(ZONE, 2)
    expect(reasons()).toEqual(['late'])
  })

  test('a full buffer lets the oldest go early, and counts them', () => {
    const { put, buffer, releasedS } = build({ heldCountMax: 5, channels: [{ channel: SPEED, latenessS: 3600 }] })
    for (let second = 0; second < 12; second++) put(SPEED, second)
    expect(releasedS(SPEED)).toEqual([0, 1, 2, 3, 4, 5, 6])
    expect(buffer.forcedCount).toBe(7)
    expect(buffer.snapshot().held).toHaveLength(5)
  })
})

describe('channels that do not stream', () => {
  test('a value per board passes at once, in the order it comes, up to a day late', () => {
    const board = 'board.topside-temperature'
    const { put, reasons, releasedS } = build()
    put(SPEED, 90_000)
    put(board, 80_000)
    put(board, 70_000)
    put(board, 80_000)
    put(board, 90_000 - 86_400)
    put(board, 90_000 - 86_401)
    expect(releasedS(board)).toEqual([80_000, 70_000, 3600])
    expect(reasons()).toEqual(['duplicate', 'late'])
  })

  test('the first word of an on-change channel counts from the earliest open moment, however old', () => {
    const { put, reasons, log } = build()
    put(SPEED, 10_000)
    put('line.recipe', 500, 10_000, 'A')
    put('line.recipe', 500, 10_001, 'A')
    put(SPEED, 10_020)
    expect(log.released.find(({ channel }) => channel === 'line.recipe')).toEqual({ channel: 'line.recipe', timeMs: T0 + 9_990_000, value: 'A' })
    expect(reasons()).toEqual(['duplicate'])
  })
})

describe('clocks', () => {
  test('more than 60 s ahead of reception is from the future, on a real line only', () => {
    const real = build()
    real.put(SPEED, 60, 0)
    real.put(SPEED, 60.001, 0)
    expect(real.reasons()).toEqual(['from-the-future'])
    const simulated = build({ simulated: true })
    simulated.put(SPEED, 1e6, 0)
    expect(simulated.reasons()).toEqual([])
  })

  test('twenty older stamps that rise open a new epoch; what is held goes first', () => {
    const { put, log, releasedS, reasons } = build()
    for (let second = 7200; second < 7220; second++) put(SPEED, second)
    // The clock is put back two hours.
    for (let second = 20; second < 60; second++) put(SPEED, second, second + 7200)
    expect(log.epochs).toEqual([[T0 + 39_000, T0 + 7_219_000]])
    expect(reasons()).toEqual(Array.from({ length: 19 }, () => 'late'))
    expect(releasedS(SPEED).slice(0, 20)).toEqual(Array.from({ length: 20 }, (_, index) => 7200 + index))
    expect(releasedS(SPEED).slice(20, 23)).toEqual([39, 40, 41])
  })

  test('a backlog delivered again in a burst is late and opens no epoch', () => {
    const { put, log } = build()
    for (let second = 7200; second < 7220; second++) put(SPEED, second)
    for (let second = 6000; second < 6100; second++) put(SPEED, second, 7220 + second / 1000)
    expect(log.epochs).toEqual([])
    expect(log.rejected).toHaveLength(100)
  })

  test('one source with a wrong clock opens no epoch while the others go on', () => {
    const { put, log, releasedS } = build()
    for (let second = 7200; second < 7300; second++) {
      put(SPEED, second)
      put(ZONE, second - 7000, second)
    }
    expect(log.epochs).toEqual([])
    expect(releasedS(SPEED)).toHaveLength(89)
  })
})

describe('stage', () => {
  test('refusals are counted by reason with the last of each, through a snapshot', () => {
    const definition = define({ line: 'line-a' })
    const log = collect()
    let stage = createTelemetryStage(definition)
    const topic = 'wave-solder/line-a/telemetry/pot.level'
    stage.take({ kind: 'message', topic, payload: '1', receivedMs: T0 }, log)
    stage.take({ kind: 'message', topic, payload: 'x', receivedMs: T0 }, log)
    stage = createTelemetryStage(definition, JSON.parse(JSON.stringify(stage.snapshot())))
    stage.take({ kind: 'message', topic, payload: 'y', receivedMs: T0 + 1000 }, log)
    stage.take({ kind: 'value', channel: 'pot.level', value: 2, time: T0 + 1e9, receivedMs: T0 }, log)
    stage.flush(log)
    expect(log.released).toEqual([{ channel: 'pot.level', timeMs: T0, value: 1 }])
    expect(stage.rejections().reasons).toMatchObject({ 'unreadable-payload': { count: 2, last: { found: 'y', timeMs: T0 + 1000 } }, 'from-the-future': { count: 1 } })
  })

  test('a simulated line takes messages that are sent again after a break as late, a clock set back as a new epoch', () => {
    const definition = define({ line: 'line-a', simulated: true })
    const topic = 'wave-solder/line-a/telemetry/conveyor.speed'
    const message = (second: number, value: number): TelemetryInput => ({ kind: 'message', topic, payload: JSON.stringify({ t: T0 + second * 1000, v: value }), receivedMs: T0 })
    const log = collect()
    let stage = createTelemetryStage(definition)
    for (let second = 0; second < 300; second += 1) stage.take(message(second, 20), log)
    stage = createTelemetryStage(definition, JSON.parse(JSON.stringify(stage.snapshot())))
    for (let second = 100; second < 300; second += 1) stage.take(message(second, 20), log)
    expect(log.epochs).toEqual([])
    expect(log.rejected).toHaveLength(200)
    for (let second = 100; second < 130; second += 1) stage.take(message(second, 21), log)
    expect(log.epochs).toEqual([[T0 + 119_000, T0 + 299_000]])
  })

  test('of the newest thousand messages each is known, older ones are not', () => {
    let recent = createRecentMessages()
    for (let number = 0; number < 1500; number += 1) expect(recent.isRepeat('a', String(number))).toBe(false)
    recent = createRecentMessages(JSON.parse(JSON.stringify(recent.snapshot())))
    expect([500, 1499].map((number) => recent.isRepeat('a', String(number)))).toEqual([true, true])
    expect(recent.isRepeat('b', '1499')).toBe(false)
    expect(recent.isRepeat('a', '499')).toBe(false)
  })
})
