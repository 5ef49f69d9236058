/** One level of a topic of the line definition: a fixed word, any one level, a level whose text is kept by name, or all that follow. */
export type TopicLevel =
  | { readonly kind: 'word'; readonly word: string }
  | { readonly kind: 'any' }
  | { readonly kind: 'named'; readonly name: string }
  | { readonly kind: 'rest' }

/** Cuts a topic of the line definition, e.g. `plant/+/zone/{n}/temperature`, into levels. */
export function parseTopic(topic: string): readonly TopicLevel[] {
  return topic.split('/').map((level): TopicLevel => {
    if (level === '+') return { kind: 'any' }
    if (level === '#') return { kind: 'rest' }
    const named = /^\{([a-z]+)\}$/.exec(level)
    return named === null ? { kind: 'word', word: level } : { kind: 'named', name: named[1] as string }
  })
}

/** The MQTT filter that brings the topics in: named levels become `+`. */
export function topicFilter(levels: readonly TopicLevel[]): string {
  return levels.map((level) => (level.kind === 'word' ? level.word : level.kind === 'rest' ? '#' : '+')).join('/')
}

/**
 * Named parts of a topic that fits, or undefined for one that does not. By the MQTT standard (OASIS, 3.1.1, 4.7) `#`
 * also fits its parent level, and a wildcard at the front does not fit topics that begin with `$`.
 */
export function matchTopic(levels: readonly TopicLevel[], topicLevels: readonly string[]): Readonly<Record<string, string>> | undefined {
  if (topicLevels[0]?.startsWith('$') === true && levels[0]?.kind !== 'word') return undefined
  const names: Record<string, string> = {}
  for (let index = 0; index < levels.length; index++) {
    const level = levels[index] as TopicLevel
    if (level.kind === 'rest') return names
    const text = topicLevels[index]
    if (text === undefined) return undefined
    if (level.kind === 'word' && level.word !== text) return undefined
    if (level.kind === 'named') {
      if (Object.hasOwn(names, level.name) && names[level.name] !== text) return undefined
      names[level.name] = text
    }
  }
  return topicLevels.length === levels.length ? names : undefined
}

/** Filters without doubles and without those another one covers, so that no broker delivers a message twice. */
export function withoutCoveredFilters(filters: readonly string[]): readonly string[] {
  const unique = [...new Set(filters)]
  return unique.filter((filter) => !unique.some((other) => other !== filter && filterCovers(other, filter)))
}

function filterCovers(outer: string, inner: string): boolean {
  const outerLevels = outer.split('/')
  const innerLevels = inner.split('/')
  for (let index = 0; index < outerLevels.length; index++) {
    if (outerLevels[index] === '#') return true
    const level = innerLevels[index]
    if (level === undefined || level === '#') return false
    if (outerLevels[index] !== '+' && outerLevels[index] !== level) return false
  }
  return innerLevels.length === outerLevels.length
}
