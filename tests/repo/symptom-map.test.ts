import { describe, expect, it } from 'vitest'
import { CHANNEL_KINDS } from '../../src/line/channels.js'
import { featureParts, SUPPLEMENTS, SYMPTOM_SOURCES } from '../../src/line/diagnosis/symptom-map.js'
import { featureCatalogue } from '../../src/line/features/feature-catalogue.js'
import { FEATURE_WORDS } from '../../src/maintenance/wording-data-features.js'
import { CHANNEL_TITLES } from '../../src/maintenance/wording-data-causes.js'
import { definitionOf, RICH_LINE } from '../unit/line/diagnosis/diagnosis-cases.js'

/** Symptoms of the matrix whose feature the catalogue does not offer yet, with the reason. */
const NOT_YET_OFFERED: Readonly<Record<string, string>> = {
  'fluxer.flow.stroke-line': 'the time of a spray stroke is no machine fact yet',
}

// A chain encoder fast enough for the tooth frequency.
const FAST_LINE = definitionOf({ machine: RICH_LINE.machine, channels: CHANNEL_KINDS.filter(({ pattern }) => !pattern.startsWith('custom.')).map(({ pattern }) => ({ channel: pattern.replace('<n>', '{n}').replace('<kind>', 'skip'), ...(pattern === 'conveyor.speed' ? { periodS: 0.2 } : {}) })) })

describe('symptom map', () => {
  const offered = new Set(featureCatalogue(FAST_LINE).map((spec) => featureParts(spec.feature).pattern))

  it('maps every feature it names to one of the catalogue, or lists it as not yet offered', () => {
    const missing = SYMPTOM_SOURCES.map((source) => source.pattern).filter((pattern) => !offered.has(pattern))
    expect(missing.sort()).toEqual(Object.keys(NOT_YET_OFFERED).sort())
  })

  it('knows every feature of the catalogue', () => {
    const mapped = new Set(SYMPTOM_SOURCES.map((source) => source.pattern))
    expect([...offered].filter((pattern) => !mapped.has(pattern))).toEqual([])
  })

  it('has words for every feature and every channel that could be named as missing', () => {
    for (const { pattern, channels } of SYMPTOM_SOURCES) {
      expect(FEATURE_WORDS[pattern], pattern).toBeDefined()
      for (const channel of channels) expect(CHANNEL_TITLES[channel], channel).toBeDefined()
    }
  })

  it('names channels of the channel list', () => {
    const known = CHANNEL_KINDS.map((kind) => kind.pattern)
    for (const { channels } of SYMPTOM_SOURCES) for (const channel of channels) expect(known).toContain(channel)
  })

  it('supplements only what it maps, with a reason each, once each', () => {
    const mapped = new Set(SYMPTOM_SOURCES.map((source) => source.pattern))
    const keys = SUPPLEMENTS.map(({ cause, pattern }) => `${cause} ${pattern}`)
    expect(new Set(keys).size).toBe(keys.length)
    for (const { pattern, why } of SUPPLEMENTS) {
      expect(mapped.has(pattern.replace(/^board\.defects\.[a-z-]+\./, 'board.defects.<kind>.')), pattern).toBe(true)
      expect(why.length).toBeGreaterThan(10)
    }
  })
})
