import { useState } from 'preact/hooks'
import type { LaneMark } from './chart-lanes.js'
import { chartsText } from './charts-texts.js'
import type { TimeSpan } from './control-chart-plot.js'
import { timeText } from './format.js'
import type { Language } from './texts.js'

const SHOWN_MAX = 40
/** Stretch shown around a mark, s: half a day before and after it. */
const AROUND_SECONDS = 12 * 3600

interface MarkListProps {
  readonly marks: readonly LaneMark[]
  /** What the chart shows; marks outside it are not listed. */
  readonly span: TimeSpan | undefined
  readonly timeZone: string
  readonly language: Language
  readonly onSpan: (span: TimeSpan | undefined) => void
}

/** The marks under a chart as words, the newest first: for whoever reads by ear or steers by keys. One leads to its time. */
export function ChartMarkList({ marks, span, timeZone, language, onSpan }: MarkListProps) {
  const [isOpen, setOpen] = useState(false)
  const seen = span === undefined ? marks : marks.filter(({ seconds }) => seconds >= span[0] && seconds <= span[1])
  if (seen.length === 0) return null
  return (
    <details class="mark-list no-print" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{chartsText(language, 'marks.list', { n: seen.length })}</summary>
      {isOpen && (
        <ul class="plain">
          {seen
            .slice(-SHOWN_MAX)
            .reverse()
            .map(({ seconds, label }, index) => (
              <li key={`${seconds} ${label} ${index}`}>
                <button type="button" onClick={() => onSpan([seconds - AROUND_SECONDS, seconds + AROUND_SECONDS])}>
                  <span>
                    <b>{timeText(new Date(seconds * 1000).toISOString(), language, timeZone)}</b> {label}
                  </span>
                </button>
              </li>
            ))}
        </ul>
      )}
      {isOpen && seen.length > SHOWN_MAX && <p class="soft">{chartsText(language, 'marks.newest-only', { n: SHOWN_MAX })}</p>}
    </details>
  )
}
