import type { StartUpFact } from '../maintenance/rounds/start-up-fact.js'
import { isoTime } from './output-json.js'
import type { SiteLine } from './site-view.js'

const STARTS_SHOWN = 20

/** The newest starts of a line, the newest first. */
export function startUpsView(line: SiteLine): Record<string, unknown> {
  return { starts: line.projection.factsOf('start-up').slice(-STARTS_SHOWN).reverse().map(startView) }
}

function startView({ id, sinceMs, readyMs, pumpBeforeMeltMs, parts }: StartUpFact): Record<string, unknown> {
  return {
    id,
    since: isoTime(sinceMs),
    ...(readyMs === undefined ? {} : { ready: isoTime(readyMs) }),
    ...(pumpBeforeMeltMs === undefined ? {} : { pumpBeforeMelt: isoTime(pumpBeforeMeltMs) }),
    parts: parts.map((part) => ({ ...part, verdict: verdictOf(part) })),
  }
}

function verdictOf({ actualS, expectedS, lowerS, upperS }: StartUpFact['parts'][number]): 'no-expectation' | 'as-usual' | 'slower' | 'faster' {
  if (expectedS === undefined || lowerS === undefined || upperS === undefined) return 'no-expectation'
  return actualS > upperS ? 'slower' : actualS < lowerS ? 'faster' : 'as-usual'
}
