import type { LineOutput } from '../../monitor/line-output.js'
import type { ChartSeries, OutputQuery, PointBody, PointQuery, RejectionCount, StoredOutput } from '../../ports/line-store.js'
import type { BoundValue, CheckedDatabase, Row } from './checked-database.js'
import type { LineRow } from './journal-table.js'

type KeptOutput = Exclude<LineOutput, { kind: 'reading' | 'feature' | 'point' | 'rejected' }>

interface Limits {
  readonly id: number
  readonly key: string
}

const POINT_COLUMNS = `point.id, point.seq, point.ordinal, point.time_ms, point.value, point.statistic,
  limits.centre, limits.lower, limits.upper, limits.sigma, limits.n,
  (SELECT text FROM term WHERE id = limits.recipe), (SELECT text FROM term WHERE id = limits.state), (SELECT text FROM term WHERE id = limits.baseline)`

/**
 * Points and the other kept outputs. A point holds its value and a reference to its limits, since limits stay the same
 * over many points; texts are stored once.
 */
export class HistoryTable {
  readonly #database: CheckedDatabase
  readonly #termIds = new Map<string, number>()
  readonly #seriesIds = new Map<string, number>()
  readonly #limitsOfSeries = new Map<number, Limits>()

  constructor(database: CheckedDatabase) {
    this.#database = database
  }

  /** After a transaction was rolled back: ids given in it are not in the file. */
  forgetIds(): void {
    this.#termIds.clear()
    this.#seriesIds.clear()
    this.#limitsOfSeries.clear()
  }

  /** To be called inside a transaction. Kinds that are not kept are passed over. */
  append(lineId: number, stored: StoredOutput): void {
    const output = stored.output
    if (output.kind === 'reading' || output.kind === 'feature') return
    if (output.kind === 'point') this.#appendPoint(lineId, stored, output.body)
    else if (output.kind === 'rejected') this.#countRejection(lineId, stored, output.body)
    else this.#appendOutput(lineId, stored, output)
  }

  points(line: LineRow, query: PointQuery): readonly PointBody[] {
    const found: { readonly body: PointBody; readonly seq: number; readonly ordinal: number }[] = []
    const limit = query.limit ?? -1
    for (const series of this.#seriesOf(line.id)) {
      if (series.feature !== query.feature || (query.chart !== undefined && series.chart !== query.chart)) continue
      const rows = this.#database
        .statement(`SELECT ${POINT_COLUMNS} FROM point JOIN limits ON limits.id = point.limits_id WHERE point.series_id = ? AND point.time_ms BETWEEN ? AND ? ORDER BY point.time_ms DESC, point.seq DESC, point.ordinal DESC LIMIT ?`)
        .all([series.id, query.fromMs ?? Number.MIN_SAFE_INTEGER, query.toMs ?? Number.MAX_SAFE_INTEGER, limit])
      for (const row of rows) found.push({ body: pointOf(row, series), seq: Number(row[1]), ordinal: Number(row[2]) })
    }
    found.sort((a, b) => a.body.timeMs - b.body.timeMs || a.seq - b.seq || a.ordinal - b.ordinal)
    return (query.limit === undefined ? found : found.slice(Math.max(0, found.length - query.limit))).map((entry) => entry.body)
  }

  series(lineId: number): readonly ChartSeries[] {
    return this.#seriesOf(lineId).map(({ feature, chart }) => ({ feature, chart }))
  }

  outputs(lines: readonly LineRow[], query: OutputQuery): readonly StoredOutput[] {
    const kinds = query.kinds.filter((kind) => kind !== 'reading' && kind !== 'feature')
    const found: { readonly stored: StoredOutput; readonly timeMs: number }[] = []
    for (const line of lines) {
      for (const kind of kinds) {
        for (const row of this.#rowsOf(line.id, kind, query)) found.push({ stored: outputOf(line.name, row), timeMs: Number(row[4]) })
      }
    }
    found.sort((a, b) => a.timeMs - b.timeMs || a.stored.seq - b.stored.seq || a.stored.ordinal - b.stored.ordinal)
    return (query.limit === undefined ? found : found.slice(Math.max(0, found.length - query.limit))).map((entry) => entry.stored)
  }

  currentFacts(line: LineRow, newestOfType: number, whole: readonly string[]): readonly StoredOutput[] {
    const types = this.#database.statement('SELECT DISTINCT type FROM current_fact WHERE line_id = ?').all([line.id]).map((row) => String(row[0]))
    const rows = types.flatMap((type) =>
      this.#database
        .statement('SELECT seq, ordinal, kind, body, time_ms, output.id FROM current_fact JOIN output ON output.id = current_fact.output_id WHERE current_fact.line_id = ? AND type = ? ORDER BY output_id DESC LIMIT ?')
        .all([line.id, type, whole.includes(type) ? -1 : newestOfType]),
    )
    return rows.sort((a, b) => Number(a[5]) - Number(b[5])).map((row) => outputOf(line.name, row))
  }

  /** To be called inside a transaction. */
  rewrite(line: LineRow, afterId: number, limit: number, rewrite: (output: LineOutput) => LineOutput): { readonly rewritten: number; readonly next?: number } {
    // In the order of the file: by an index every page would sort all that follow.
    const rows = this.#database
      .statement("SELECT seq, ordinal, kind, body, time_ms, id FROM output NOT INDEXED WHERE line_id = ? AND id > ? AND kind IN ('suggestion', 'fact') ORDER BY id LIMIT ?")
      .all([line.id, afterId, limit])
    let rewritten = 0
    for (const row of rows) {
      const output = readableOutput(line.name, row)
      const changed = output === undefined ? undefined : rewrite(output)
      if (changed === undefined || changed === output) continue
      this.#database.statement('UPDATE output SET body = ? WHERE id = ?').run([JSON.stringify(changed.body), Number(row[5])])
      rewritten += 1
    }
    return { rewritten, ...(rows.length === limit ? { next: Number(rows.at(-1)?.[5]) } : {}) }
  }

  rejections(lineId: number): readonly RejectionCount[] {
    return this.#database
      .statement('SELECT count, body FROM rejection WHERE line_id = ? ORDER BY reason')
      .all([lineId])
      .map((row) => ({ count: Number(row[0]), last: JSON.parse(String(row[1])) as RejectionCount['last'] }))
  }

  pointsAfter(id: number, limit: number): { readonly outputs: readonly StoredOutput[]; readonly lastId: number } {
    const rows = this.#database
      .statement(`SELECT ${POINT_COLUMNS}, line.name, (SELECT text FROM term WHERE id = series.feature), (SELECT text FROM term WHERE id = series.chart)
        FROM point JOIN limits ON limits.id = point.limits_id JOIN series ON series.id = point.series_id JOIN line ON line.id = series.line_id
        WHERE point.id > ? ORDER BY point.id LIMIT ?`)
      .all([id, limit])
    const outputs = rows.map((row): StoredOutput => {
      const body = pointOf(row, { feature: String(row[15]), chart: String(row[16]) })
      return { line: String(row[14]), seq: Number(row[1]), ordinal: Number(row[2]), output: { kind: 'point', body } }
    })
    return { outputs, lastId: Number(rows.at(-1)?.[0] ?? id) }
  }

  outputsAfter(id: number, limit: number): { readonly outputs: readonly StoredOutput[]; readonly lastId: number } {
    const rows = this.#database
      .statement('SELECT output.seq, ordinal, kind, body, time_ms, line.name, output.id FROM output JOIN line ON line.id = output.line_id WHERE output.id > ? ORDER BY output.id LIMIT ?')
      .all([id, limit])
    return { outputs: rows.map((row) => outputOf(String(row[5]), row)), lastId: Number(rows.at(-1)?.[6] ?? id) }
  }

  /** Removes what is older, but not suggestions and baselines, which later work rests on. */
  prune(lineId: number, beforeMs: number): number {
    let removed = this.#database
      .statement("DELETE FROM output WHERE line_id = ? AND time_ms < ? AND kind NOT IN ('suggestion', 'baseline', 'fact')")
      .run([lineId, beforeMs]).changes
    for (const { id } of this.#seriesOf(lineId)) {
      const points = this.#database.statement('DELETE FROM point WHERE series_id = ? AND time_ms < ?').run([id, beforeMs]).changes
      removed += points
      if (points === 0) continue
      this.#limitsOfSeries.delete(id)
      // The newest limits stay, since the next point may refer to them.
      this.#database
        .statement('DELETE FROM limits WHERE series_id = ? AND id < coalesce((SELECT min(limits_id) FROM point WHERE series_id = ?), (SELECT max(id) FROM limits WHERE series_id = ?))')
        .run([id, id, id])
    }
    return removed
  }

  #appendPoint(lineId: number, stored: StoredOutput, point: PointBody): void {
    const seriesId = this.#seriesId(lineId, point.feature, point.chart)
    this.#database
      .statement('INSERT OR IGNORE INTO point (series_id, time_ms, seq, ordinal, value, statistic, limits_id) VALUES (?, ?, ?, ?, ?, ?, ?)')
      .run([seriesId, point.timeMs, stored.seq, stored.ordinal, point.value, point.statistic === point.value ? null : point.statistic, this.#limitsId(seriesId, point)])
  }

  #appendOutput(lineId: number, stored: StoredOutput, output: KeptOutput): void {
    const { changes, rowId } = this.#database
      .statement('INSERT OR IGNORE INTO output (line_id, seq, ordinal, kind, feature, time_ms, body) VALUES (?, ?, ?, ?, ?, ?, ?)')
      .run([lineId, stored.seq, stored.ordinal, output.kind, 'feature' in output.body ? output.body.feature : null, timeOf(output), JSON.stringify(output.body)])
    if (output.kind !== 'fact' || changes === 0) return
    this.#database.statement('INSERT OR REPLACE INTO current_fact (line_id, type, id, output_id) VALUES (?, ?, ?, ?)').run([lineId, output.body.type, output.body.id, rowId])
  }

  #countRejection(lineId: number, stored: StoredOutput, body: RejectionCount['last']): void {
    this.#database
      .statement(`INSERT INTO rejection (line_id, reason, count, seq, ordinal, time_ms, body) VALUES (?, ?, 1, ?, ?, ?, ?)
        ON CONFLICT (line_id, reason) DO UPDATE SET count = count + 1, seq = excluded.seq, ordinal = excluded.ordinal, time_ms = excluded.time_ms, body = excluded.body
        WHERE (excluded.seq, excluded.ordinal) > (rejection.seq, rejection.ordinal)`)
      .run([lineId, body.reason, stored.seq, stored.ordinal, body.timeMs, JSON.stringify(body)])
  }

  #rowsOf(lineId: number, kind: string, query: OutputQuery): readonly Row[] {
    const from = query.fromMs ?? Number.MIN_SAFE_INTEGER
    const to = query.toMs ?? Number.MAX_SAFE_INTEGER
    if (kind === 'point') throw new Error('outputs of kind "point" are asked for by points()')
    if (kind === 'rejected') {
      if (query.feature !== undefined) return []
      return this.#database
        .statement("SELECT seq, ordinal, 'rejected', body, time_ms FROM rejection WHERE line_id = ? AND time_ms BETWEEN ? AND ?")
        .all([lineId, from, to])
    }
    const values: BoundValue[] = [lineId, kind, from, to]
    if (query.feature !== undefined) values.push(query.feature)
    if (query.factType !== undefined) values.push(query.factType)
    return this.#database
      .statement(`SELECT seq, ordinal, kind, body, time_ms FROM output WHERE line_id = ? AND kind = ? AND time_ms BETWEEN ? AND ?${query.feature === undefined ? '' : ' AND feature = ?'}${query.factType === undefined ? '' : " AND kind = 'fact' AND json_extract(body, '$.type') = ?"} ORDER BY time_ms DESC, seq DESC, ordinal DESC LIMIT ?`)
      .all([...values, query.limit ?? -1])
  }

  #seriesOf(lineId: number): readonly (ChartSeries & { readonly id: number })[] {
    return this.#database
      .statement('SELECT id, (SELECT text FROM term WHERE id = feature), (SELECT text FROM term WHERE id = chart) FROM series WHERE line_id = ? ORDER BY id')
      .all([lineId])
      .map((row) => ({ id: Number(row[0]), feature: String(row[1]), chart: String(row[2]) }))
  }

  #termId(text: string): number {
    let id = this.#termIds.get(text)
    if (id === undefined) {
      this.#database.statement('INSERT OR IGNORE INTO term (text) VALUES (?)').run([text])
      id = Number(this.#database.statement('SELECT id FROM term WHERE text = ?').get([text])?.[0])
      this.#termIds.set(text, id)
    }
    return id
  }

  #seriesId(lineId: number, feature: string, chart: string): number {
    const key = `${lineId} ${chart} ${feature}`
    let id = this.#seriesIds.get(key)
    if (id === undefined) {
      const values = [lineId, this.#termId(feature), this.#termId(chart)]
      this.#database.statement('INSERT OR IGNORE INTO series (line_id, feature, chart) VALUES (?, ?, ?)').run(values)
      id = Number(this.#database.statement('SELECT id FROM series WHERE line_id = ? AND feature = ? AND chart = ?').get(values)?.[0])
      this.#seriesIds.set(key, id)
    }
    return id
  }

  #limitsId(seriesId: number, point: PointBody): number {
    const values = [point.centre, point.lower, point.upper, point.sigma, point.n, this.#termId(point.recipe), this.#termId(point.state), this.#termId(point.baseline)]
    const key = values.join(' ')
    const known = this.#limitsOfSeries.get(seriesId)
    if (known?.key === key) return known.id
    const id = this.#database
      .statement('INSERT INTO limits (series_id, centre, lower, upper, sigma, n, recipe, state, baseline) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)')
      .run([seriesId, ...values]).rowId
    this.#limitsOfSeries.set(seriesId, { id, key })
    return id
  }
}

function timeOf(output: KeptOutput): number {
  return output.kind === 'suggestion' ? output.body.statusMs : output.body.timeMs
}

function pointOf(row: Row, series: ChartSeries): PointBody {
  const value = Number(row[4])
  return {
    timeMs: Number(row[3]),
    feature: series.feature,
    chart: series.chart as PointBody['chart'],
    value,
    statistic: row[5] === null ? value : Number(row[5]),
    centre: Number(row[6]),
    lower: Number(row[7]),
    upper: Number(row[8]),
    sigma: Number(row[9]),
    n: Number(row[10]),
    recipe: String(row[11]),
    state: String(row[12]) as PointBody['state'],
    baseline: String(row[13]) as PointBody['baseline'],
  }
}

function outputOf(line: string, row: Row): StoredOutput {
  return { line, seq: Number(row[0]), ordinal: Number(row[1]), output: { kind: row[2], body: JSON.parse(String(row[3])) as unknown } as LineOutput }
}

/** Undefined for a row whose body is damaged; it must not keep the others from being gone through. */
function readableOutput(line: string, row: Row): LineOutput | undefined {
  try {
    return outputOf(line, row).output
  } catch {
    return undefined
  }
}
