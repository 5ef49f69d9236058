import { render } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import 'uplot/dist/uPlot.min.css'
import { api } from './api-client.js'
import { ChartsView } from './charts-view.js'
import { LinesView } from './lines-view.js'
import { hashOf, useAnswer, useNews, useRoute } from './page-state.js'
import './page.css'
import { SuggestionCard } from './suggestion-card.js'
import { keepLanguage, preferredLanguage, text, type Language } from './texts.js'

const ASKING = ['open', 'taken', 'put-off']

function Page() {
  const [language, setLanguage] = useState<Language>(preferredLanguage)
  const route = useRoute()
  const { news, connected } = useNews()
  const [answered, setAnswered] = useState(0)
  const { answer: lines, failure } = useAnswer(api.lines, [news.state, news.baseline, news.suggestion, news.point])
  const { answer: suggestions } = useAnswer(() => api.suggestions(language), [language, news.suggestion, answered])
  useEffect(() => keepLanguage(language), [language])
  const say = (key: string): string => text(language, key)
  const chartLine = lines?.find((line) => line.line === route.line) ?? lines?.[0]
  return (
    <>
      <header class="top">
        <h1>wave-solder-spc</h1>
        <nav>
          <a class={route.view === 'shift' ? 'chosen' : ''} href={hashOf({ view: 'shift' })}>
            {say('nav.shift')}
          </a>
          <a class={route.view === 'charts' ? 'chosen' : ''} href={hashOf({ view: 'charts', ...(chartLine === undefined ? {} : { line: chartLine.line }) })}>
            {say('nav.charts')}
          </a>
          <button type="button" onClick={() => setLanguage(language === 'es' ? 'en-US' : 'es')}>
            {say('nav.language')}
          </button>
        </nav>
      </header>
      <main>
        {(!connected || failure !== undefined) && (
          <p class="act" role="status">
            {say('page.no-answer')}
          </p>
        )}
        {route.view === 'shift' && (
          <>
            <section aria-labelledby="queue-title">
              <h2 id="queue-title">{say('queue.title')}</h2>
              {suggestions !== undefined && !suggestions.some((suggestion) => ASKING.includes(suggestion.status)) && <p class="empty">{say('queue.none')}</p>}
              {(suggestions ?? [])
                .filter((suggestion) => ASKING.includes(suggestion.status))
                .sort((a, b) => Number(b.urgency === 'urgent') - Number(a.urgency === 'urgent') || b.raised.localeCompare(a.raised))
                .map((suggestion) => (
                  <SuggestionCard key={suggestion.id} suggestion={suggestion} line={lines?.find((line) => line.line === suggestion.line)} language={language} onAnswered={() => setAnswered(answered + 1)} />
                ))}
            </section>
            <LinesView lines={lines} language={language} />
            {(suggestions ?? []).some((suggestion) => !ASKING.includes(suggestion.status)) && (
              <section>
                <h2>{say('queue.past')}</h2>
                <ul>
                  {(suggestions ?? [])
                    .filter((suggestion) => !ASKING.includes(suggestion.status))
                    .map((suggestion) => (
                      <li key={suggestion.id}>
                        {suggestion.headline} <span class="soft">({say(`status.${suggestion.status}`)})</span>
                      </li>
                    ))}
                </ul>
              </section>
            )}
          </>
        )}
        {route.view === 'charts' && chartLine !== undefined && (
          <ChartsView key={chartLine.line} line={chartLine} lines={lines ?? []} onlyFeatures={route.features} language={language} news={news.point + news.signal + news.baseline} />
        )}
      </main>
      <footer>{say('page.advice')}</footer>
    </>
  )
}

const host = document.getElementById('page')
if (host !== null) render(<Page />, host)
