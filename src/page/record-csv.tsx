import { useState } from 'preact/hooks'
import { records, type CsvTaken } from './record-client.js'
import { recordText } from './record-texts.js'
import type { Language } from './texts.js'

interface CsvProps {
  readonly line: string
  readonly language: Language
  readonly onTaken: () => void
}

/** Records from a table with the columns of the export; each row that was not taken is told with its reason. */
export function RecordsFromCsv({ line, language, onTaken }: CsvProps) {
  const [answer, setAnswer] = useState<CsvTaken | undefined>(undefined)
  const [failure, setFailure] = useState('')
  const take = async (file: File | undefined): Promise<void> => {
    if (file === undefined) return
    setFailure('')
    setAnswer(undefined)
    try {
      const said = await records.fromCsv(line, file)
      setAnswer(said)
      if (said.taken > 0) onTaken()
    } catch (error) {
      setFailure(`${recordText(language, 'refused')}: ${error instanceof Error ? error.message : String(error)}`)
    }
  }
  return (
    <details class="no-print corrections">
      <summary>{recordText(language, 'from-csv')}</summary>
      <label class="field">
        {recordText(language, 'csv-file')}
        <input
          type="file"
          name="records-csv"
          accept=".csv,text/csv"
          onChange={(event) => {
            const input = event.currentTarget
            // The same file, mended, can be chosen again.
            void take(input.files?.[0]).then(() => (input.value = ''))
          }}
        />
      </label>
      {answer !== undefined && <p role="status">{recordText(language, 'csv-taken', { taken: answer.taken, refused: answer.refused.length })}</p>}
      {answer !== undefined && answer.refused.length > 0 && (
        <ul>
          {answer.refused.map(({ row, message }) => (
            <li key={row}>
              {recordText(language, 'row', { row })}: {message}
            </li>
          ))}
        </ul>
      )}
      {failure !== '' && (
        <p class="act" role="alert">
          {failure}
        </p>
      )}
    </details>
  )
}
