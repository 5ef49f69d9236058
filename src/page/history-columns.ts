/** What the page can tell of a table from its beginning. */
export interface TablePreview {
  readonly columns: readonly string[]
  /** First rows, as texts. */
  readonly rows: readonly (readonly string[])[]
  readonly delimiter: string
}

/** A proposal for one column: which channel it seems to be. */
export interface ColumnGuess {
  readonly column: string
  readonly channel?: string
  readonly unit?: string
}

const ROWS_READ = 200

/**
 * Reads the head of a CSV file: the delimiter is the one that parts the first line most often.
 *
 * @param text beginning of the file; a last, unfinished line is left out
 */
export function previewOf(text: string): TablePreview {
  const lines = text.replace(/^\uFEFF/, '').split(/\r?\n/).filter((line) => line.trim() !== '' && !line.startsWith('#'))
  const whole = lines.length > 1 ? lines.slice(0, -1) : lines
  const first = whole[0] ?? ''
  const delimiter = [',', ';', '\t'].reduce((best, next) => (cellsOf(first, next).length > cellsOf(first, best).length ? next : best))
  return { columns: cellsOf(first, delimiter), rows: whole.slice(1, ROWS_READ + 1).map((line) => cellsOf(line, delimiter)), delimiter }
}

function cellsOf(line: string, delimiter: string): string[] {
  const cells: string[] = []
  let cell = ''
  let quoted = false
  for (const [index, sign] of [...line].entries()) {
    if (sign === '"') quoted = line[index + 1] === '"' && quoted ? quoted : !quoted
    else if (sign === delimiter && !quoted) {
      cells.push(cell.trim())
      cell = ''
    } else cell += sign
  }
  return [...cells, cell.trim()]
}

/** The column whose cells read as times: by its name, else the first whose every cell is one. */
export function timeColumnOf({ columns, rows }: TablePreview): string | undefined {
  const named = columns.find((column) => /^(time|timestamp|date ?time|datum|zeit|fecha|hora|stamp|ts|t)$/i.test(column.trim()))
  if (named !== undefined) return named
  return columns.find((_, index) => rows.length > 0 && rows.every((row) => Number.isFinite(timeOf(row[index] ?? ''))))
}

/** ms UTC of a cell, as far as the browser can tell; NaN for what is no time. */
function timeOf(cell: string): number {
  if (/^\d{12,14}$/.test(cell)) return Number(cell)
  if (/^\d{9,10}(\.\d+)?$/.test(cell)) return Number(cell) * 1000
  return /\d{4}-\d{2}-\d{2}|\d{1,2}[./]\d{1,2}[./]\d{2,4}/.test(cell) ? Date.parse(cell) : Number.NaN
}

/** Usual time between two rows, s; undefined where the times cannot be read here. */
export function periodOf({ columns, rows }: TablePreview, timeColumn: string): number | undefined {
  const index = columns.indexOf(timeColumn)
  const times = rows.map((row) => timeOf(row[index] ?? '')).filter((time) => Number.isFinite(time))
  const steps = times.slice(1).map((time, at) => (time - times[at]!) / 1000).filter((step) => step > 0).sort((a, b) => a - b)
  return steps.length < 3 ? undefined : Math.min(86_400, Math.max(0.1, steps[Math.floor(steps.length / 2)]!))
}

/** What each column seems to be, by its name; each channel is proposed once. */
export function guessColumns(columns: readonly string[], timeColumn: string | undefined): readonly ColumnGuess[] {
  const taken = new Set<string>()
  return columns.filter((column) => column !== timeColumn).map((column) => {
    const channel = channelOf(column)
    const unit = unitOf(column)
    if (channel === undefined || taken.has(channel)) return { column }
    taken.add(channel)
    return { column, channel, ...(unit === undefined ? {} : { unit }) }
  })
}

const IDS = /^(preheat\.zone-\d{1,2}\.(temperature|setpoint|duty|blower-current)|conveyor\.[a-z-]+|pot\.[a-z-]+|fluxer\.[a-z-]+|board\.[a-z.-]+|line\.(recipe|state)|ambient\.temperature|exhaust\.pressure|custom\.[a-z0-9-]+)$/

function channelOf(column: string): string | undefined {
  if (IDS.test(column)) return column
  const words = column.toLowerCase().normalize('NFD').replaceAll(/[\u0300-\u036f]/g, '')
  const isSetpoint = /\bset|\bsp\b|soll|consigna/.test(words)
  const isDuty = /duty|output|power|potencia|heizleistung|%/.test(words)
  const zone = /(?:zone|zona|preheat|ph|vorheiz\w*|precal\w*)\D{0,6}(\d{1,2})/.exec(words)?.[1] ?? /^z(\d{1,2})\b/.exec(words)?.[1]
  if (zone !== undefined) return `preheat.zone-${Number(zone)}.${isSetpoint ? 'setpoint' : isDuty ? 'duty' : 'temperature'}`
  if (/recipe|receta|rezept|program/.test(words)) return 'line.recipe'
  if (/level|nivel|fullstand|niveau/.test(words)) return 'pot.level'
  if (/(pot|solder|bath|crisol|bano|tiegel|lot).*(temp|°|grad)|(temp).*(pot|solder|crisol|tiegel)/.test(words)) return isSetpoint ? 'pot.setpoint' : 'pot.temperature'
  if (/(current|corriente|strom|amp)/.test(words) && /(conveyor|chain|drive|cadena|kette|transport)/.test(words)) return 'conveyor.current'
  if (/speed|velocidad|geschw|conveyor|chain|cadena|kette/.test(words)) return isSetpoint ? 'conveyor.setpoint' : 'conveyor.speed'
  if (/board|placas|count|stuck|leiterplatten/.test(words)) return 'board.count'
  if (/ambient|room|ambiente|raum/.test(words)) return 'ambient.temperature'
  if (/flux.*(flow|caudal)|caudal/.test(words)) return 'fluxer.flow'
  return undefined
}

function unitOf(column: string): string | undefined {
  const unit = /[[(]\s*([^\])]{1,12})\s*[\])]/.exec(column)?.[1]?.trim()
  if (unit === undefined) return undefined
  if (/^°?\s*f$|fahrenheit/i.test(unit)) return '°F'
  if (/^°?\s*c$|celsius/i.test(unit)) return '°C'
  return /^(mm\/s|m\/min|cm\/min|ft\/min|mm|cm|in|a|ma|bar|psi|%)$/i.test(unit) ? unit : undefined
}
