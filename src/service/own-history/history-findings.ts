import { createReadStream, existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { createInterface } from 'node:readline'

/** Points of a finding's chart at most. */
const POINTS_MAX = 1500
/** Charts shown for one finding. */
const CHARTS_MAX = 2

type Json = Readonly<Record<string, unknown>>

/** A chart as drawn under a finding: parallel rows, oldest first. */
export interface FindingChart {
  readonly feature: string
  readonly chart: string
  readonly recipe: string
  readonly points: readonly { readonly time: string; readonly value: number; readonly centre: number; readonly lower: number; readonly upper: number; readonly baseline: string }[]
}

/** What a replay of one's own history brought, cut down to what a person looks at. */
export interface HistoryFindings {
  readonly summary: Json
  /** Suggestions as they were raised, in the outside form, with the charts of their strongest features. */
  readonly found: readonly { readonly suggestion: Json; readonly changes: number; readonly charts: readonly FindingChart[] }[]
}

/** Reads the folder that `replay` wrote. */
export async function summarise(folder: string): Promise<HistoryFindings> {
  const summary = JSON.parse(readFileSync(join(folder, 'summary.json'), 'utf8')) as Json
  const suggestions = await linesOf(join(folder, 'suggestions.jsonl'))
  const changes = await linesOf(join(folder, 'suggestion-changes.jsonl'))
  const wanted = new Map<string, Map<string, Json[]>>()
  for (const suggestion of suggestions) for (const feature of featuresOf(suggestion)) wanted.set(feature, new Map())
  if (wanted.size > 0) {
    for await (const point of jsonLines(join(folder, 'points.jsonl'))) {
      const charts = wanted.get(String(point['feature']))
      if (charts === undefined || String(point['chart']).startsWith('cusum')) continue
      const key = `${String(point['chart'])} ${String(point['recipe'])}`
      const points = charts.get(key)
      if (points === undefined) charts.set(key, [point])
      else points.push(point)
    }
  }
  return {
    summary,
    found: suggestions.map((suggestion) => ({
      suggestion,
      changes: changes.filter((change) => change['id'] === suggestion['id']).length,
      charts: featuresOf(suggestion).flatMap((feature) => {
        const longest = [...(wanted.get(feature) ?? [])].sort(([, a], [, b]) => b.length - a.length)[0]
        return longest === undefined ? [] : [chartOf(feature, longest[1])]
      }),
    })),
  }
}

function featuresOf(suggestion: Json): string[] {
  const features = suggestion['features']
  return Array.isArray(features) ? features.filter((feature): feature is string => typeof feature === 'string').slice(0, CHARTS_MAX) : []
}

/** Evenly thinned, so that the whole of the history is seen. */
function chartOf(feature: string, points: readonly Json[]): FindingChart {
  const step = Math.max(1, Math.ceil(points.length / POINTS_MAX))
  return {
    feature,
    chart: String(points[0]?.['chart'] ?? ''),
    recipe: String(points[0]?.['recipe'] ?? ''),
    points: points
      .filter((_, index) => index % step === 0)
      .map((point) => ({ time: String(point['time']), value: Number(point['value']), centre: Number(point['centre']), lower: Number(point['lower']), upper: Number(point['upper']), baseline: String(point['baseline']) })),
  }
}

async function linesOf(path: string): Promise<Json[]> {
  const lines: Json[] = []
  for await (const line of jsonLines(path)) lines.push(line)
  return lines
}

async function* jsonLines(path: string): AsyncGenerator<Json> {
  if (!existsSync(path)) return
  for await (const line of createInterface({ input: createReadStream(path), crlfDelay: Infinity })) if (line !== '') yield JSON.parse(line) as Json
}
