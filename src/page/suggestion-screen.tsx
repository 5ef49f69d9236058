import { useState } from 'preact/hooks'
import { ApiError, api } from './api-client.js'
import type { SuggestionView } from './api-types.js'
import { jobText } from './job-words.js'
import { hashOf, useAnswer } from './page-state.js'
import type { ScreenProps } from './screen.js'
import { SuggestionCard } from './suggestion-card.js'

/** One suggestion on a screen of its own, as the code of its card leads to it; the address holds its id. */
export function SuggestionScreen({ language, route, lines, news }: ScreenProps) {
  const [answered, setAnswered] = useState(0)
  const id = route.query?.['suggestion'] ?? ''
  const { answer, failure } = useAnswer(async () => ({ found: await suggestionOrNone(id, language) }), [id, language, news.suggestion, answered])
  return (
    <>
      <p class="actions no-print">
        <a class="button" href={hashOf({ view: 'shift' })}>
          {jobText(language, 'back')}
        </a>
      </p>
      {failure !== undefined && answer === undefined && <p role="alert">{failure}</p>}
      {answer !== undefined && answer.found === undefined && <p role="alert">{jobText(language, 'not-found')}</p>}
      {answer?.found !== undefined && <SuggestionCard suggestion={answer.found} line={lines?.find(({ line }) => line === answer.found?.line)} language={language} onAnswered={() => setAnswered(answered + 1)} />}
    </>
  )
}

async function suggestionOrNone(id: string, language: string): Promise<SuggestionView | undefined> {
  try {
    return await api.suggestion(id, language)
  } catch (error) {
    if (error instanceof ApiError && error.status === 404) return undefined
    throw error
  }
}
