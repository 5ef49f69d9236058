import { render } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import 'uplot/dist/uPlot.min.css'
import { api } from './api-client.js'
import { JobBanner } from './job-banner.js'
import { hashOf, useAnswer, useNews, useRoute } from './page-state.js'
import './page.css'
import './jobs.css'
import { SCREENS } from './screens.js'
import { OutboxNotice, SessionButton } from './session-bar.js'
import { keepLanguage, preferredLanguage, text, type Language } from './texts.js'

const LOOK_AGAIN_MS = 3000

function Page() {
  const [language, setLanguage] = useState<Language>(preferredLanguage)
  const route = useRoute()
  const { news, connected } = useNews()
  const [looks, setLooks] = useState(0)
  const { answer: site, failure } = useAnswer(api.lines, [looks, news.state, news.baseline, news.suggestion, news.point, news.fact])
  const lines = site?.lines
  const isEmpty = lines?.length === 0
  useEffect(() => {
    if (!isEmpty) return
    // A service that has just started opens its lines one after another, and none of them may have news yet.
    const timer = setInterval(() => setLooks((count) => count + 1), LOOK_AGAIN_MS)
    return () => clearInterval(timer)
  }, [isEmpty])
  useEffect(() => keepLanguage(language), [language])
  const say = (key: string): string => text(language, key)
  const line = lines?.find((known) => known.line === route.line) ?? lines?.[0]
  // An installation without a line begins with making one.
  const view = lines?.length === 0 && route.view === 'shift' ? 'setup' : route.view
  const screen = SCREENS.find((known) => known.view === view) ?? SCREENS[0]!
  const Shown = screen.component
  // On a phone the row is wider than the screen.
  useEffect(() => document.querySelector('nav a.chosen')?.scrollIntoView({ block: 'nearest', inline: 'center' }), [screen.view])
  return (
    <div class={screen.gloves === true ? 'page gloves' : 'page'}>
      <header class="top">
        <h1>wave-solder-spc</h1>
        <nav>
          {SCREENS.filter(({ inRow }) => inRow).map(({ view, title, ofLine }) => (
            <a key={view} class={screen.view === view ? 'chosen' : ''} {...(screen.view === view ? { 'aria-current': 'page' } : {})} href={hashOf({ view, ...(ofLine && line !== undefined ? { line: line.line } : {}) })}>
              {title[language]}
            </a>
          ))}
        </nav>
        <div class="personal">
          <SessionButton language={language} onLanguage={setLanguage} />
          <button type="button" lang={language === 'es' ? 'en' : 'es'} onClick={() => setLanguage(language === 'es' ? 'en-US' : 'es')}>
            {say('nav.language')}
          </button>
        </div>
      </header>
      <main>
        <OutboxNotice language={language} />
        <JobBanner language={language} lines={lines} news={news.fact} />
        {(site?.refused ?? []).map(({ line: id, title, reason }) => (
          <p key={id} class="act" role="alert">
            {text(language, 'page.line-refused', { title })} <span lang="en">{reason}</span>
          </p>
        ))}
        {(!connected || failure !== undefined) && (
          <p class="act" role="status">
            {say('page.no-answer')}
          </p>
        )}
        {(!screen.ofLine || line !== undefined) && <Shown key={`${screen.view} ${screen.ofLine ? line?.line : ''}`} language={language} route={route} lines={lines} line={line} news={news} />}
      </main>
      <footer>{say('page.advice')}</footer>
    </div>
  )
}

// Only over TLS or on this computer; elsewhere the page needs the network to open, and entries wait all the same.
if ('serviceWorker' in navigator) navigator.serviceWorker.register('./offline-worker.js').catch(() => undefined)

const host = document.getElementById('page')
if (host !== null) render(<Page />, host)
