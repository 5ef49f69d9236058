export type CsvCell = string | number | undefined

/**
 * Rows as CSV after RFC 4180: CRLF, quotes where a cell holds a comma, a quote or a line break, quotes doubled. Text that
 * a spreadsheet would take for a formula gets an apostrophe in front; numbers stay numbers.
 */
export function csvText(header: readonly string[], rows: readonly (readonly CsvCell[])[]): string {
  return [header, ...rows].map((row) => `${row.map(cellText).join(',')}\r\n`).join('')
}

function cellText(cell: CsvCell): string {
  if (cell === undefined) return ''
  if (typeof cell === 'number') return Number.isFinite(cell) ? String(cell) : ''
  // A formula begins with one of these; blanks in front do not keep every spreadsheet from taking it for one.
  const text = /^\s*[=+\-@\t\r]/.test(cell) ? `'${cell}` : cell
  return /[",\r\n]/.test(text) || text !== text.trim() ? `"${text.replaceAll('"', '""')}"` : text
}
