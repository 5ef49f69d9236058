import { channelKindOf, CHANNEL_KINDS } from '../channels.js'
import type { LineDefinition } from '../line-definition.js'

/** Kinds of defects taken where a line names none of its own (defect table of the process knowledge, F3 [ASM]). */
export const USUAL_DEFECTS: readonly string[] = ['skip', 'bridge', 'hole-fill', 'residue']

/** The channels of a line, named parts filled in. */
export interface DeclaredChannels {
  has(channel: string): boolean
  /** Usual time between readings, s. */
  periodS(channel: string): number
  /** The line names this channel itself, rather than taking all there could be. */
  isExplicit(channel: string): boolean
  readonly all: readonly string[]
}

/**
 * Channels a line declares; `{n}` stands for every zone, `{kind}` for the usual defects. A line that declares none is
 * taken to publish every channel that can be listed (all but custom ones).
 */
export function declaredChannels(definition: LineDefinition): DeclaredChannels {
  const zoneCount = definition.machine.zones.length
  const periods = new Map<string, number>()
  const explicit = definition.channels.length > 0
  const patterns: readonly { readonly channel: string; readonly periodS?: number | undefined }[] = explicit ? definition.channels : CHANNEL_KINDS.map((kind) => ({ channel: kind.pattern.replace('<n>', '{n}').replace('<kind>', '{kind}').replace('<name>', '{name}') }))
  for (const entry of patterns) {
    for (const channel of expand(entry.channel, zoneCount)) {
      const kind = channelKindOf(channel)?.channelKind
      if (kind === undefined) continue
      if (!periods.has(channel)) periods.set(channel, entry.periodS ?? kind.periodS)
    }
  }
  return {
    has: (channel) => periods.has(channel),
    periodS: (channel) => periods.get(channel) ?? channelKindOf(channel)?.channelKind.periodS ?? 60,
    isExplicit: (channel) => explicit && periods.has(channel),
    all: [...periods.keys()],
  }
}

function expand(pattern: string, zoneCount: number): string[] {
  if (pattern.includes('{n}')) return Array.from({ length: zoneCount }, (_, index) => pattern.replace('{n}', String(index + 1)))
  if (pattern.startsWith('board.defects.') && pattern.includes('{')) return USUAL_DEFECTS.map((kind) => `board.defects.${kind}`)
  return pattern.includes('{') ? [] : [pattern]
}
