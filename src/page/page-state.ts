import { useEffect, useRef, useState } from 'preact/hooks'
import { api } from './api-client.js'
import type { PointView } from './api-types.js'
import { followLive, type LiveKind } from './live-updates.js'

/** Where the reader is: part of the address, so that a link or a reload leads back. */
export interface Route {
  /** Name of a screen; what no screen is called shows the first. */
  readonly view: string
  readonly line?: string
  /** Only charts of these features, where a suggestion led here. */
  readonly features?: readonly string[]
  /** Further names and values behind the question mark. */
  readonly query?: Readonly<Record<string, string>>
}

export function routeOf(hash: string): Route {
  const [path = '', query = ''] = hash.replace(/^#\/?/, '').split('?')
  const [view = '', line] = path.split('/')
  const { features, ...rest } = Object.fromEntries(new URLSearchParams(query))
  return { view: view === '' ? 'shift' : view, ...(line ? { line: decodeURIComponent(line) } : {}), ...(features ? { features: features.split(',') } : {}), ...(Object.keys(rest).length > 0 ? { query: rest } : {}) }
}

export function hashOf(route: Route): string {
  const query = new URLSearchParams({ ...(route.features === undefined ? {} : { features: route.features.join(',') }), ...route.query }).toString()
  return `#/${route.view}${route.line === undefined ? '' : `/${encodeURIComponent(route.line)}`}${query === '' ? '' : `?${query}`}`
}

export function useRoute(): Route {
  const [route, setRoute] = useState(() => routeOf(location.hash))
  useEffect(() => {
    const changed = (): void => setRoute(routeOf(location.hash))
    addEventListener('hashchange', changed)
    return () => removeEventListener('hashchange', changed)
  }, [])
  return route
}

/** Counts up whenever one of the kinds has news; things that depend on it read again. */
export function useNews(): { readonly news: Readonly<Record<LiveKind, number>>; readonly connected: boolean } {
  const [news, setNews] = useState<Record<LiveKind, number>>({ state: 0, point: 0, 'rule-hit': 0, signal: 0, baseline: 0, suggestion: 0, fact: 0, insight: 0 })
  const [connected, setConnected] = useState(true)
  useEffect(
    () =>
      followLive(2000, {
        changed: (kinds) =>
          setNews((before) => {
            const after = { ...before }
            for (const kind of kinds) after[kind] += 1
            return after
          }),
        connected: setConnected,
      }),
    [],
  )
  return { news, connected }
}

/**
 * Reads something now and again whenever `when` changes. One question is under way at a time: news that come meanwhile
 * ask once more after its answer, so that a slow service is neither flooded nor kept from ever being heard.
 */
export function useAnswer<T>(question: () => Promise<T>, when: readonly unknown[]): { readonly answer?: T; readonly failure?: string } {
  const [state, setState] = useState<{ answer?: T; failure?: string }>({})
  const latest = useRef(question)
  const asking = useRef({ underWay: false, again: false })
  const here = useRef(true)
  latest.current = question
  useEffect(() => {
    here.current = true
    return () => {
      here.current = false
    }
  }, [])
  useEffect(() => {
    const now = asking.current
    const ask = async (): Promise<void> => {
      now.underWay = true
      now.again = false
      try {
        const answer = await latest.current()
        if (here.current) setState({ answer })
      } catch (error) {
        if (here.current) setState((before) => ({ ...before, failure: error instanceof Error ? error.message : String(error) }))
      }
      now.underWay = false
      if (now.again && here.current) void ask()
    }
    if (now.underWay) now.again = true
    else void ask()
  }, when)
  return state
}

/** Points of a feature, kept up to date: after the first answer only what is newer is asked for. */
export function usePoints(line: string, feature: string, limit: number, news: number): { readonly points?: readonly PointView[]; readonly failure?: string } {
  const known = useRef<readonly PointView[] | undefined>(undefined)
  const { answer, failure } = useAnswer(async () => {
    const before = known.current
    const from = before?.at(-1)?.time
    const got = await api.points(line, feature, limit, from)
    // The points of one time come together, so those at `from` are all known already.
    const merged = before === undefined || from === undefined ? got : [...before, ...got.filter((point) => point.time > from)].slice(-limit)
    known.current = merged
    return merged
  }, [line, feature, news])
  return { ...(answer === undefined ? {} : { points: answer }), ...(failure === undefined ? {} : { failure }) }
}
