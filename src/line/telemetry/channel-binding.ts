import { CHANNEL_KINDS, channelConversion, channelKindOf, type ChannelKind } from '../channels.js'
import type { LineDefinition } from '../line-definition.js'
import { parsePath, type PayloadPath } from './payload-path.js'
import type { TimeUnit } from './reading-time.js'
import { matchTopic, parseTopic, topicFilter, withoutCoveredFilters, type TopicLevel } from './topic-filter.js'

/** Where value, time, unit and quality lie in a payload; a path that is absent was not given. */
export interface PayloadShape {
  /** Empty: the payload, or each sample, itself. */
  readonly value: PayloadPath
  readonly time?: PayloadPath
  readonly timeUnit?: TimeUnit
  readonly unit?: PayloadPath
  readonly quality?: PayloadPath
  readonly goodQuality?: readonly (string | number | boolean)[]
  readonly samples?: PayloadPath
}

/** One channel of a line, and how its readings come. */
export interface BoundChannel {
  readonly channel: string
  readonly channelKind: ChannelKind
  readonly zone?: number
  /** Place among readings of the same time: what explains (recipe, state, set-points) before what is measured. */
  readonly rank: number
  readonly periodMs: number
  /** How late a reading may come and still count. */
  readonly latenessMs: number
  /** Base = number * factor + offset, for a reading that names no unit of its own. */
  readonly factor: number
  readonly offset: number
  readonly shape?: PayloadShape
}

/** What a topic brings. */
export type TopicMatch =
  /** One message feeds these channels, each with its own payload paths. */
  | { readonly kind: 'channels'; readonly bounds: readonly BoundChannel[] }
  /** `{"t": …, "v": {"<channel>": value, …}}`: several channels in one message. */
  | { readonly kind: 'combined' }
  /** A topic the tool itself publishes or takes replies on: not a reading and not a fault. */
  | { readonly kind: 'own' }
  | { readonly kind: 'unknown-topic' }
  | { readonly kind: 'unknown-channel'; readonly channel: string }

/** A line definition compiled for the way in. */
export interface ChannelBinding {
  readonly line: string
  readonly timeZone: string
  /** MQTT filters to subscribe to; none covers another. */
  readonly filters: readonly string[]
  /** How late a reading of this line may come: the largest bound of its channels, at least 2 s. */
  readonly latenessMs: number
  match(topic: string): TopicMatch
  channelOf(channel: string): BoundChannel | undefined
}

/** Levels below `<topicRoot>/<line>/` that are not telemetry. */
const OWN_LEVELS = new Set(['suggestions', 'state', 'rejected', 'replies', 'records', 'signals', 'features', 'points'])

const LATENESS_MS_MIN = 2000

/** Two periods of a slow channel would hold up the whole line; later than this needs a declared `latenessS`. */
const LATENESS_MS_DEFAULT_MAX = 120_000

/** Topics and channels remembered, so that a stream of nonsense names cannot fill the memory. */
const REMEMBERED_MAX = 5000

type ChannelEntry = LineDefinition['channels'][number]

interface CompiledEntry {
  readonly entry: ChannelEntry
  /** Absent: the standard topic. */
  readonly levels?: readonly TopicLevel[]
  /** Channel ids of this entry. */
  readonly expression: RegExp
  readonly shape?: PayloadShape
}

/**
 * Compiles a checked line definition into the topics to subscribe to and the channels each topic brings. Without
 * declared channels every channel of the list is taken from `<topicRoot>/<line>/telemetry/<channel>` in its base unit.
 * The definition's unit holds for every way a channel comes in; a reading that names a unit overrides it.
 */
export function compileBinding(definition: LineDefinition): ChannelBinding {
  const ownRoot = `${definition.topicRoot}/`
  const telemetryTopic = `${definition.topicRoot}/${definition.line}/telemetry`
  const entries = definition.channels.map(compileEntry)
  const declared = entries.filter((entry) => entry.levels !== undefined).map((entry) => topicFilter(entry.levels as readonly TopicLevel[]))
  const channels = new Map<string, BoundChannel | undefined>()
  const topics = new Map<string, TopicMatch>()

  function channelOf(channel: string): BoundChannel | undefined {
    if (channels.has(channel)) return channels.get(channel)
    const entry = entries.find(({ expression }) => expression.test(channel))
    const bound = entry === undefined && entries.length > 0 ? undefined : bindChannel(channel, entry, definition.machine.zones.length)
    remember(channels, channel, bound)
    return bound
  }

  function findMatch(topic: string): TopicMatch {
    if (topic === telemetryTopic) return { kind: 'combined' }
    const levels = topic.split('/')
    if (topic.startsWith(ownRoot) && OWN_LEVELS.has(topic.slice(ownRoot.length).split('/')[1] ?? '')) return { kind: 'own' }
    const named = bindTopic(entries, levels, definition.machine.zones.length)
    if (named.kind !== 'unknown-topic') return named
    if (!topic.startsWith(`${telemetryTopic}/`)) return named
    const channel = topic.slice(telemetryTopic.length + 1)
    const entry = entries.find((candidate) => candidate.levels === undefined && candidate.expression.test(channel))
    const bound = entry === undefined && entries.length > 0 ? undefined : bindChannel(channel, entry, definition.machine.zones.length)
    return bound === undefined ? { kind: 'unknown-channel', channel } : { kind: 'channels', bounds: [bound] }
  }

  return {
    line: definition.line,
    timeZone: definition.timeZone,
    filters: withoutCoveredFilters([...declared, `${telemetryTopic}/#`]),
    latenessMs: lineLatenessMs(entries),
    channelOf,
    match(topic) {
      const known = topics.get(topic)
      if (known !== undefined) return known
      const found = findMatch(topic)
      remember(topics, topic, found)
      return found
    },
  }
}

function remember<T>(memory: Map<string, T>, key: string, value: T): void {
  if (memory.size >= REMEMBERED_MAX) memory.clear()
  memory.set(key, value)
}

/** Channels the declared topics bring; a named part that makes no channel id is told apart from no topic at all. */
function bindTopic(entries: readonly CompiledEntry[], topicLevels: readonly string[], zoneCount: number): TopicMatch {
  const bounds: BoundChannel[] = []
  let unknown: string | undefined
  for (const entry of entries) {
    const names = entry.levels === undefined ? undefined : matchTopic(entry.levels, topicLevels)
    if (names === undefined) continue
    const channel = entry.entry.channel.replaceAll(/\{([a-z]+)\}/g, (_, name: string) => (names[name] ?? '').toLowerCase())
    const bound = bindChannel(channel, entry, zoneCount)
    if (bound === undefined) unknown = channel
    // A literal topic and a wildcard may name the same channel: the first entry decides.
    else if (!bounds.some((other) => other.channel === channel)) bounds.push(bound)
  }
  if (bounds.length > 0) return { kind: 'channels', bounds }
  return unknown === undefined ? { kind: 'unknown-topic' } : { kind: 'unknown-channel', channel: unknown }
}

function bindChannel(channel: string, compiled: CompiledEntry | undefined, zoneCount: number): BoundChannel | undefined {
  const found = channelKindOf(channel)
  if (found === undefined || (found.zone !== undefined && found.zone > zoneCount)) return undefined
  const { channelKind, zone } = found
  const entry = compiled?.entry
  const conversion = entry?.unit === undefined ? undefined : channelConversion(channelKind, entry.unit)
  if (conversion?.kind === 'unknown-unit') return undefined
  return {
    channel,
    channelKind,
    ...(zone === undefined ? {} : { zone }),
    rank: rankOf(channelKind, zone),
    periodMs: (entry?.periodS ?? channelKind.periodS) * 1000,
    latenessMs: latenessMsOf(channelKind, entry),
    factor: conversion?.factor ?? 1,
    offset: conversion?.offset ?? 0,
    ...(compiled?.shape === undefined ? {} : { shape: compiled.shape }),
  }
}

function rankOf(channelKind: ChannelKind, zone: number | undefined): number {
  const kindIndex = CHANNEL_KINDS.indexOf(channelKind)
  return (channelKind.arrival === 'on-change' ? 0 : CHANNEL_KINDS.length * 100) + kindIndex * 100 + (zone ?? 0)
}

function latenessMsOf(channelKind: ChannelKind, entry: ChannelEntry | undefined): number {
  if (entry?.latenessS !== undefined) return entry.latenessS * 1000
  return Math.min(LATENESS_MS_DEFAULT_MAX, 2000 * (entry?.periodS ?? channelKind.periodS))
}

/** One bound for the line, from what is declared and never from what happened to arrive, so that the order does not matter. */
function lineLatenessMs(entries: readonly CompiledEntry[]): number {
  const bounds = entries.length === 0 ? CHANNEL_KINDS.map((channelKind) => ({ channelKind, entry: undefined })) : entries.flatMap(({ entry }) => {
    const channelKind = channelKindOf(sampleChannel(entry.channel))?.channelKind
    return channelKind === undefined ? [] : [{ channelKind, entry }]
  })
  const inOrder = bounds.filter(({ channelKind }) => channelKind.arrival !== 'delayed')
  return inOrder.reduce((largest, { channelKind, entry }) => Math.max(largest, latenessMsOf(channelKind, entry)), LATENESS_MS_MIN)
}

function sampleChannel(channel: string): string {
  return channel.replaceAll('{n}', '1').replaceAll(/\{[a-z]+\}/g, 'x')
}

function compileEntry(entry: ChannelEntry): CompiledEntry {
  const source = entry.channel.replaceAll('.', '\\.').replaceAll('{n}', '[1-9][0-9]?').replaceAll(/\{[a-z]+\}/g, '[a-z0-9][a-z0-9-]{0,63}')
  return {
    entry,
    ...(entry.topic === undefined ? {} : { levels: parseTopic(entry.topic) }),
    expression: new RegExp(`^${source}$`),
    ...(entry.payload === undefined ? {} : { shape: compileShape(entry.payload) }),
  }
}

function compileShape(payload: NonNullable<ChannelEntry['payload']>): PayloadShape {
  return {
    value: parsePath(payload.value),
    ...(payload.time === undefined ? {} : { time: parsePath(payload.time) }),
    ...(payload.timeUnit === undefined ? {} : { timeUnit: payload.timeUnit }),
    ...(payload.unit === undefined ? {} : { unit: parsePath(payload.unit) }),
    ...(payload.quality === undefined ? {} : { quality: parsePath(payload.quality) }),
    ...(payload.goodQuality === undefined ? {} : { goodQuality: payload.goodQuality }),
    ...(payload.samples === undefined ? {} : { samples: parsePath(payload.samples) }),
  }
}
