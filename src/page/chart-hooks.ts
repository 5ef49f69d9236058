import type { RefObject } from 'preact'
import { useEffect, useRef, useState } from 'preact/hooks'
import type { PointView } from './api-types.js'
import { chartsApi } from './charts-client.js'
import { askInTurn } from './draw-turns.js'
import { useAnswer } from './page-state.js'

/** Points a plot shows at most: a shift and more of ten-minute windows, weeks of hourly ones. */
export const POINTS_SHOWN = 1500

/** Whether an element is, or has been, near the part of the page that is seen: charts far below wait. */
export function useNear(ref: RefObject<HTMLElement>): boolean {
  const [near, setNear] = useState(false)
  useEffect(() => {
    const element = ref.current
    if (element === null) return
    const observer = new IntersectionObserver((entries) => setNear(entries.some((entry) => entry.isIntersecting)), { rootMargin: '600px' })
    observer.observe(element)
    return () => observer.disconnect()
  }, [])
  return near
}

/** Points of each chart of a feature, kept up to date: after the first answer only what is newer is asked for. */
export function useChartPoints(line: string, feature: string, charts: readonly string[], from: string | undefined, when: readonly unknown[]): ReadonlyMap<string, readonly PointView[]> | undefined {
  const known = useRef<{ readonly key: string; readonly points: ReadonlyMap<string, readonly PointView[]> } | undefined>(undefined)
  const key = `${line} ${feature} ${charts.join(' ')} ${from ?? ''}`
  const { answer } = useAnswer(async () => {
    const before = known.current?.key === key ? known.current.points : undefined
    // The first picture is wanted at once; what is newer may come a chart a frame.
    if (before !== undefined) await askInTurn()
    const points = new Map(await Promise.all(charts.map(async (chart) => [chart, await newer(line, feature, chart, from, before?.get(chart))] as const)))
    known.current = { key, points }
    return { key, points }
  }, [key, ...when])
  return answer?.key === key ? answer.points : known.current?.key === key ? known.current.points : undefined
}

async function newer(line: string, feature: string, chart: string, from: string | undefined, before: readonly PointView[] | undefined): Promise<readonly PointView[]> {
  const last = before?.at(-1)?.time
  if (before === undefined || last === undefined) return chartsApi.points(line, feature, chart, POINTS_SHOWN, from)
  const got = (await chartsApi.points(line, feature, chart, POINTS_SHOWN, last)).filter((point) => point.time > last)
  // The same list again where nothing is new: the plot then has nothing to draw.
  return got.length === 0 ? before : [...before, ...got].slice(-POINTS_SHOWN)
}
