import { useState } from 'preact/hooks'
import { api } from './api-client.js'
import { LinesStrip } from './lines-strip.js'
import { JobSection } from './job-section.js'
import { useAnswer } from './page-state.js'
import { ProofMark, useProofs } from './proof-mark.js'
import { RoundSection } from './round-section.js'
import type { ScreenProps } from './screen.js'
import { SuggestionCard } from './suggestion-card.js'
import { text } from './texts.js'

const ASKING = ['open', 'taken', 'put-off']
/** More cards at once help nobody; the most urgent stand first. */
const CARDS_AT_ONCE = 20
const PAST_SHOWN = 30

/** What a technician does now: what asks for work, and how the lines stand. */
export function ShiftScreen({ language, lines, news }: ScreenProps) {
  const [answered, setAnswered] = useState(0)
  const [cards, setCards] = useState(CARDS_AT_ONCE)
  const { answer: suggestions } = useAnswer(() => api.suggestions(language), [language, news.suggestion, answered])
  const proofs = useProofs(lines, language, news.fact)
  const say = (key: string): string => text(language, key)
  const asking = (suggestions ?? []).filter((suggestion) => ASKING.includes(suggestion.status)).sort((a, b) => Number(b.urgency === 'urgent') - Number(a.urgency === 'urgent') || b.raised.localeCompare(a.raised))
  const past = (suggestions ?? []).filter((suggestion) => !ASKING.includes(suggestion.status)).slice(0, PAST_SHOWN)
  return (
    <>
      <JobSection lines={lines} language={language} news={news.fact} />
      <section aria-labelledby="queue-title">
        <h2 id="queue-title">{say('queue.title')}</h2>
        {suggestions !== undefined && asking.length === 0 && <p class="empty">{say('queue.none')}</p>}
        {asking.length > cards && <p>{text(language, 'queue.count', { shown: cards, count: asking.length })}</p>}
        {asking.slice(0, cards).map((suggestion) => (
          <SuggestionCard key={suggestion.id} suggestion={suggestion} line={lines?.find((line) => line.line === suggestion.line)} language={language} onAnswered={() => setAnswered(answered + 1)} />
        ))}
        {asking.length > cards && (
          <p class="actions">
            <button type="button" onClick={() => setCards(cards + CARDS_AT_ONCE)}>
              {text(language, 'queue.more', { count: Math.min(CARDS_AT_ONCE, asking.length - cards) })}
            </button>
          </p>
        )}
      </section>
      <RoundSection lines={lines} language={language} news={news.fact} />
      <LinesStrip lines={lines} language={language} />
      {past.length > 0 && (
        <section>
          <h2>{say('queue.past')}</h2>
          <ul>
            {past.map((suggestion) => (
              <li key={suggestion.id}>
                {suggestion.headline} <span class="soft">({say(`status.${suggestion.status}`)})</span> {proofs.has(suggestion.id) && <ProofMark proof={proofs.get(suggestion.id)!} line={suggestion.line} />}
              </li>
            ))}
          </ul>
        </section>
      )}
    </>
  )
}
