import type { LineSummary } from './api-types.js'
import { holdText } from './hold-texts.js'
import { hashOf, useAnswer } from './page-state.js'
import { rounds } from './round-client.js'
import type { Language } from './texts.js'

/** One line that says settings are on hold, with the checks left and their minutes; nothing when they are not. */
export function HoldStrip({ line, language, news }: { readonly line: LineSummary; readonly language: Language; readonly news: number }) {
  const { answer: hold } = useAnswer(() => rounds.hold(line.line, language), [language, news])
  if (hold?.on !== true) return null
  return (
    <p class="hold-strip" data-hold={line.line}>
      <span>{holdText(language, 'strip', { count: hold.checksLeft, minutes: Math.round(hold.minutesLeft) })}</span>
      <a class="button" href={hashOf({ view: 'hold', line: line.line })}>
        {holdText(language, 'open')}
      </a>
    </p>
  )
}
