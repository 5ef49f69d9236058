import type { IntervalFact } from '../maintenance/intervals/interval-fact.js'
import { shareBetweenLines, sisterHistories, withSisters, type SisterView } from '../maintenance/intervals/sister-lines.js'
import type { SiteLine } from './site-view.js'

/** What is known of a line, live or from a replay. */
export type KnownLine = Pick<SiteLine, 'definition' | 'projection'>

/** An interval as it is in force, and what sister lines say of it. */
export interface IntervalInForce {
  readonly fact: IntervalFact
  readonly sisters?: SisterView
}

interface Known {
  readonly facts: readonly IntervalFact[]
  readonly answer: ReadonlyMap<string, readonly IntervalInForce[]>
}

/** Newest answer for the lines that begin with this one: nothing is reckoned anew while no fact has changed. */
const known = new WeakMap<object, Known>()

/** Intervals in force of every line by its id: a line with a short history of its own goes by its sister lines too. */
export function siteIntervals(lines: readonly KnownLine[]): ReadonlyMap<string, readonly IntervalInForce[]> {
  const all = lines.flatMap((line) => line.projection.factsOf('interval').map((fact) => ({ line: line.definition.line, fact })))
  const first = lines[0]?.projection
  const before = first === undefined ? undefined : known.get(first)
  if (before !== undefined && before.answer.size === lines.length && before.facts.length === all.length && all.every(({ line, fact }, index) => before.facts[index] === fact && before.answer.has(line))) return before.answer
  const views = new Map<string, readonly SisterView[]>()
  const viewsOf = (fact: IntervalFact): readonly SisterView[] => {
    const key = `${fact.work}|${fact.scale}`
    const shared = views.get(key) ?? shareBetweenLines(sisterHistories(all, fact))
    views.set(key, shared)
    return shared
  }
  const answer = new Map(
    lines.map(({ definition: { line } }): [string, readonly IntervalInForce[]] => [
      line,
      all
        .filter((one) => one.line === line)
        .map(({ fact }) => {
          const sisters = lines.length < 2 ? undefined : viewsOf(fact).find((view) => view.line === line)
          return { fact: withSisters(fact, sisters), ...(sisters === undefined ? {} : { sisters }) }
        }),
    ]),
  )
  if (first !== undefined) known.set(first, { facts: all.map(({ fact }) => fact), answer })
  return answer
}
