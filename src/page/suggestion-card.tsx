import { useState } from 'preact/hooks'
import { api } from './api-client.js'
import type { LineSummary, SuggestionView } from './api-types.js'
import { CautionBox, CautionList } from './caution-box.js'
import { changesText } from './changes-texts.js'
import { timeText } from './format.js'
import { hashOf, useAnswer } from './page-state.js'
import { ReplyForm } from './reply-form.js'
import { SuggestionChart } from './suggestion-chart.js'
import { text, type Language } from './texts.js'

interface CardProps {
  readonly suggestion: SuggestionView
  readonly line: LineSummary | undefined
  readonly language: Language
  readonly onAnswered: () => void
}

/** A suggestion in the language of the page, or for once in the other one. */
export function SuggestionCard(props: CardProps) {
  const [language, setLanguage] = useState<Language>()
  const spoken = language ?? props.language
  const { answer } = useAnswer(() => (spoken === props.language ? Promise.resolve(undefined) : api.suggestion(props.suggestion.id, spoken)), [spoken, props.suggestion.id, props.suggestion.statusTime])
  const shown = spoken !== props.language && answer !== undefined
  return <CardIn {...props} {...(shown ? { suggestion: answer, language: spoken } : {})} onLanguage={() => setLanguage(spoken === 'es' ? 'en-US' : 'es')} />
}

/** Only this card goes to the printer. */
function printCard(card: Element | null): void {
  if (card === null) return
  // The steps of every job are wanted on paper, whatever is folded on the screen.
  const folded = [...card.querySelectorAll('details:not([open])')]
  for (const part of folded) part.setAttribute('open', '')
  card.classList.add('printed')
  document.body.classList.add('one-card')
  print()
  card.classList.remove('printed')
  document.body.classList.remove('one-card')
  for (const part of folded) part.removeAttribute('open')
}

/** One suggestion: what and why in plain words, what to check first, the work, its cautions, and the answer. */
function CardIn({ suggestion, line, language, onAnswered, onLanguage }: CardProps & { readonly onLanguage: () => void }) {
  const zone = line?.timeZone ?? 'UTC'
  const say = (key: string): string => text(language, key)
  const [isRead, setRead] = useState(hasRoom)
  const cautions = suggestion.cautions.map((words, index) => ({ caution: suggestion.cautionIds[index] ?? '', text: words }))
  return (
    <article lang={language === 'es' ? 'es' : 'en'} class={`card suggestion ${suggestion.urgency === 'urgent' ? 'act-edge' : ''}`} data-suggestion={suggestion.id} data-section={suggestion.section}>
      <header>
        <p class="soft">
          {line?.title ?? suggestion.line} · {say(`section.${suggestion.section}`)}
          {suggestion.zone !== undefined && ` · ${say('zone')} ${suggestion.zone}`} · {say(`urgency.${suggestion.urgency}`)} · {say(`status.${suggestion.status}`)} · {say('card.code')}{' '}
          <b>{suggestion.shortCode}</b>
        </p>
        <h3>{suggestion.headline}</h3>
        <p class="soft">
          {say('card.since')} {timeText(suggestion.onset, language, zone)} · {say('card.raised')} {timeText(suggestion.raised, language, zone)}
        </p>
        {suggestion.byWhen !== '' && <p>{suggestion.byWhen}</p>}
      </header>
      <section>
        <h4>{say('card.could-be')}</h4>
        <ul class="causes">
          {suggestion.causes
            .filter((cause) => cause.probability >= 0.05)
            .slice(0, 5)
            .map((cause) => (
              <li key={cause.cause}>
                <Strokes share={cause.probability} /> {cause.title}, {cause.words}
              </li>
            ))}
        </ul>
      </section>
      {suggestion.features[0] !== undefined && <SuggestionChart line={suggestion.line} feature={suggestion.features[0]} onset={suggestion.onset} statusTime={suggestion.statusTime} timeZone={zone} language={language} />}
      <CautionBox cautions={cautions} title={text(language, 'card.cautions-read', { count: cautions.length })} isOpen={isRead} onOpen={setRead} />
      <section class="check-first">
        <h4>{say('card.check-first')}</h4>
        <p>
          <strong>{suggestion.checkFirst.title}</strong> ({suggestion.checkFirst.minutes} {say('card.minutes')})
        </p>
        <Steps steps={suggestion.checkFirst.steps} />
      </section>
      <TextList title={say('card.why')} items={suggestion.reasons} />
      <TextList title={say('card.against')} items={suggestion.against} />
      <TextList title={say('card.missing')} items={suggestion.missing} />
      <section>
        <h4>{say('card.work')}</h4>
        {suggestion.work.map((work) => (
          <details key={work.id}>
            <summary>
              {work.title}, {work.minutes[0]}–{work.minutes[1]} {say('card.minutes')}, {work.people} {say(work.people === 1 ? 'card.person' : 'card.people')}
            </summary>
            <Steps steps={work.steps} />
            {work.tools.length > 0 && (
              <p class="soft">
                {say('card.tools')}: {work.tools.join(', ')}
              </p>
            )}
          </details>
        ))}
      </section>
      <p class="actions">
        <a class="button" href={hashOf({ view: 'charts', line: suggestion.line, features: suggestion.features })}>
          {say('card.charts')}
        </a>
        <a class="button" href={hashOf({ view: 'changes', line: suggestion.line, query: { suggestion: suggestion.id } })}>
          {changesText(language, 'title')}
        </a>
        <button type="button" onClick={(event) => printCard(event.currentTarget.closest('.card'))}>
          {say('card.print')}
        </button>
        <button type="button" lang={language === 'es' ? 'en' : 'es'} onClick={onLanguage}>
          {say('nav.language')}
        </button>
      </p>
      <ReplyForm suggestion={suggestion} timeZone={zone} language={language} cautions={isRead ? undefined : <CautionList cautions={cautions} />} onAnswered={onAnswered} />
    </article>
  )
}

/** Whether there is room for every caution in full beside what is to be checked; a phone or a small panel has none. */
function hasRoom(): boolean {
  return innerWidth >= 900 && innerHeight >= 700
}

/** A share as ten strokes, the inked ones counting. The words beside it say the same. */
export function Strokes({ share }: { readonly share: number }) {
  const inked = Math.round(share * 10)
  return (
    <span class="strokes" aria-hidden="true">
      {Array.from({ length: 10 }, (_, index) => (
        <i key={index} class={index < inked ? 'inked' : ''} />
      ))}
    </span>
  )
}

function TextList({ title, items }: { readonly title: string; readonly items: readonly string[] }) {
  if (items.length === 0) return null
  return (
    <section>
      <h4>{title}</h4>
      <ul>
        {items.map((item) => (
          <li key={item}>{item}</li>
        ))}
      </ul>
    </section>
  )
}

function Steps({ steps }: { readonly steps: readonly string[] }) {
  return (
    <ol>
      {steps.map((step) => (
        <li key={step}>{step}</li>
      ))}
    </ol>
  )
}
