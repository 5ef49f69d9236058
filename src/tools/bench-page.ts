// The charts page in a real Chromium beside a bare page that draws the same points with the plotting library alone.
//   npm run bench:page [-- --charts N] [--points N] [--rounds N]
// Prints first picture, interaction, live updates and bytes side by side, and judges nothing by the clock.
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { createServer, type Server, type ServerResponse } from 'node:http'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { extname, join } from 'node:path'
import { parseArgs } from 'node:util'
import { gzipSync } from 'node:zlib'
import { build } from 'esbuild'
import { chromium, type Browser, type Page } from 'playwright-core'

const CHROMIUM = '/usr/bin/chromium'
const LINE = 'bench'
const STEP_MS = 600_000
const LIVE_SECONDS = 5
const UPDATES_PER_SECOND = 60
/** A frame longer than this was dropped: at 60 Hz one lasts 16.7 ms. */
const FRAME_MS_MAX = 25

interface Sizes {
  readonly charts: number
  readonly points: number
}

async function main(): Promise<void> {
  const { values } = parseArgs({ options: { charts: { type: 'string', default: '20' }, points: { type: 'string', default: '1500' }, rounds: { type: 'string', default: '5' } } })
  const sizes = { charts: Number(values.charts), points: Number(values.points) }
  const rounds = Number(values.rounds)
  if (![sizes.charts, sizes.points, rounds].every((count) => Number.isInteger(count) && count > 0)) throw new Error('--charts, --points and --rounds: expected whole numbers above 0')
  if (!existsSync(CHROMIUM)) throw new Error(`there is no ${CHROMIUM}; on Debian: apt-get install chromium`)
  const folder = mkdtempSync(join(tmpdir(), 'bench-page-'))
  const browser = await chromium.launch({ executablePath: CHROMIUM, args: ['--no-sandbox', '--disable-gpu'] })
  const stub = new StubService(folder, sizes)
  try {
    await bundle(folder)
    const base = await stub.listen()
    const ours = await measure(browser, stub, { address: `${base}/page/index.html#/charts/${LINE}`, ready: READY_PAGE, zoom: ZOOM_PAGE, sizes, rounds })
    const bare = await measure(browser, stub, { address: `${base}/bare/index.html`, ready: READY_BARE, zoom: ZOOM_BARE, sizes, rounds })
    print(sizes, ours, bare, { ours: bytes(join(folder, 'page')), bare: bytes(join(folder, 'bare')) })
  } finally {
    await browser.close()
    stub.close()
    rmSync(folder, { recursive: true, force: true })
  }
}

/** The page as it ships, and one that only draws. */
async function bundle(folder: string): Promise<void> {
  const common = { bundle: true, minify: true, format: 'esm', target: 'es2022', logLevel: 'warning' } as const
  await build({ ...common, entryPoints: ['src/page/main.tsx'], jsx: 'automatic', jsxImportSource: 'preact', outdir: join(folder, 'page') })
  writeFileSync(join(folder, 'page', 'index.html'), readFileSync('src/page/index.html'))
  await build({ ...common, stdin: { contents: BARE_SOURCE, resolveDir: process.cwd(), loader: 'js' }, outfile: join(folder, 'bare', 'main.js') })
  writeFileSync(join(folder, 'bare', 'index.html'), '<!doctype html><meta charset="utf-8"><link rel="stylesheet" href="main.css"><body><script type="module" src="main.js"></script></body>')
}

/** Points, limits and dashes with the plotting library alone, from the same answers. */
const BARE_SOURCE = `
import uPlot from 'uplot'
import 'uplot/dist/uPlot.min.css'
const { features } = await (await fetch('./api/lines/${LINE}/features')).json()
const limit = { stroke: '#5C6B73', dash: [6, 4], points: { show: false } }
window.plots = await Promise.all(features.map(async ({ feature, charts }) => {
  const { points } = await (await fetch('./api/lines/${LINE}/points?feature=' + feature + '&chart=' + charts[0] + '&limit=10000')).json()
  const data = [points.map((p) => Date.parse(p.time) / 1000), ...['statistic', 'centre', 'lower', 'upper'].map((name) => points.map((p) => p[name]))]
  return new uPlot({ width: 560, height: 220, series: [{}, { stroke: '#1B2A33' }, { stroke: '#5C6B73', points: { show: false } }, limit, limit] }, data, document.body)
}))
new EventSource('./api/events').addEventListener('point', (event) => {
  const point = JSON.parse(event.data)
  const plot = window.plots[features.findIndex(({ feature }) => feature === point.feature)]
  const data = plot.data.map((column, index) => [...column, index === 0 ? Date.parse(point.time) / 1000 : point[['statistic', 'centre', 'lower', 'upper'][index - 1]]])
  plot.setData(data)
})
window.drawn = true
`

/** In the browser: whether everything is drawn. */
const READY_PAGE = (sizes: Sizes): string => `[...document.querySelectorAll('.feature .plot-area')].filter((area) => area.getAttribute('aria-label').endsWith(', ${sizes.points}') && area.querySelector('canvas')).length >= ${sizes.charts}`
const READY_BARE = (): string => 'window.drawn === true'
/** In the browser: all charts show half as much. */
const ZOOM_PAGE = `[...document.querySelectorAll('.chart-tools button')].find((button) => button.textContent.trim() === 'Closer').click()`
const ZOOM_BARE = `for (const plot of window.plots) { const { min, max } = plot.scales.x; plot.setScale('x', { min: min + (max - min) / 4, max: max - (max - min) / 4 }) }`

interface Subject {
  readonly address: string
  readonly ready: (sizes: Sizes) => string
  readonly zoom: string
  readonly sizes: Sizes
  readonly rounds: number
}

interface Measured {
  /** Medians, ms. */
  readonly firstMs: number
  readonly zoomMs: number
  readonly frames: number
  readonly droppedFrames: number
  readonly longestFrameMs: number
}

async function measure(browser: Browser, stub: StubService, subject: Subject): Promise<Measured> {
  const first: number[] = []
  const zoom: number[] = []
  let live = { frames: 0, dropped: 0, longest: 0 }
  for (let round = 0; round < subject.rounds; round += 1) {
    // Tall enough for every chart to be in sight, so that none may wait.
    const context = await browser.newContext({ viewport: { width: 1280, height: 700 + 700 * subject.sizes.charts }, locale: 'en-US' })
    const page = await context.newPage()
    const failed = new Promise<never>((_, reject) => page.once('pageerror', (error) => reject(new Error(`${subject.address}: ${error.message}`))))
    await page.goto(subject.address)
    first.push(Number(await Promise.race([failed, page.evaluate(`new Promise((done) => { const look = () => (${subject.ready(subject.sizes)}) ? requestAnimationFrame(() => done(performance.now())) : requestAnimationFrame(look); look() })`)])))
    await page.evaluate('new Promise((done) => setTimeout(done, 500))')
    zoom.push(Number(await page.evaluate(`new Promise((done) => { const from = performance.now(); ${subject.zoom}; requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - from))) })`)))
    if (round === subject.rounds - 1) live = await liveFrames(page, stub)
    await context.close()
  }
  return { firstMs: median(first), zoomMs: median(zoom), frames: live.frames, droppedFrames: live.dropped, longestFrameMs: live.longest }
}

async function liveFrames(page: Page, stub: StubService): Promise<{ readonly frames: number; readonly dropped: number; readonly longest: number }> {
  const watching = page.evaluate(`new Promise((done) => { const times = []; const until = performance.now() + ${LIVE_SECONDS * 1000}; const tick = (now) => { times.push(now); now < until ? requestAnimationFrame(tick) : done(times) }; requestAnimationFrame(tick) })`) as Promise<number[]>
  const sending = setInterval(() => stub.sendPoint(), 1000 / UPDATES_PER_SECOND)
  const times = await watching
  clearInterval(sending)
  const lengths = times.slice(1).map((time, index) => time - (times[index] ?? time))
  return { frames: lengths.length, dropped: lengths.filter((length) => length > FRAME_MS_MAX).length, longest: Math.max(...lengths) }
}

function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? 0
}

/** Answers the questions of the page with made points, and sends new ones. */
class StubService {
  private readonly listeners = new Set<ServerResponse>()
  private readonly counts: number[]
  private readonly server: Server
  private next = 0
  private readonly startMs: number

  constructor(
    private readonly folder: string,
    private readonly sizes: Sizes,
  ) {
    this.startMs = Date.UTC(2026, 0, 5)
    this.counts = Array.from({ length: sizes.charts }, () => sizes.points)
    this.server = createServer((request, response) => this.answer(new URL(request.url ?? '/', 'http://localhost'), response))
  }

  listen(): Promise<string> {
    return new Promise((resolve) => this.server.listen(0, '127.0.0.1', () => resolve(`http://127.0.0.1:${(this.server.address() as AddressInfo).port}`)))
  }

  close(): void {
    this.server.closeAllConnections()
    this.server.close()
  }

  /** One more point of the next chart in turn. */
  sendPoint(): void {
    const chart = this.next % this.sizes.charts
    this.next += 1
    const count = (this.counts[chart] = (this.counts[chart] ?? 0) + 1)
    const text = `event: point\ndata: ${JSON.stringify(this.point(chart, count - 1))}\n\n`
    for (const listener of this.listeners) listener.write(text)
  }

  private point(chart: number, index: number): Record<string, unknown> {
    const value = Math.sin(index / 40 + chart) + 0.6 * Math.sin(index * 2.399 * (chart + 1))
    return { time: new Date(this.startMs + index * STEP_MS).toISOString(), feature: `feature-${chart}`, chart: 'individuals', value, statistic: value, centre: 0, lower: -3, upper: 3, sigma: 1, n: 300, recipe: 'board-a', state: 'production', baseline: 'accepted' }
  }

  private answer(url: URL, response: ServerResponse): void {
    const path = url.pathname
    const api = /^\/(?:page|bare)\/api\/(.*)$/.exec(path)?.[1]
    if (api === 'events') {
      response.writeHead(200, { 'content-type': 'text/event-stream' }).write(': here\n\n')
      this.listeners.add(response)
      response.on('close', () => this.listeners.delete(response))
      return
    }
    if (api !== undefined) {
      response.writeHead(200, { 'content-type': 'application/json' }).end(JSON.stringify(this.json(api, url)))
      return
    }
    const file = join(this.folder, path)
    if (!existsSync(file)) {
      response.writeHead(404).end()
      return
    }
    const type = { '.html': 'text/html', '.js': 'text/javascript', '.css': 'text/css' }[extname(file)] ?? 'text/plain'
    response.writeHead(200, { 'content-type': type }).end(readFileSync(file))
  }

  private json(api: string, url: URL): unknown {
    const line = { line: LINE, title: 'Bench', timeZone: 'UTC', simulated: true, state: 'production', recipe: 'board-a', openSuggestions: 0, baselines: { learning: 0, provisional: 0, accepted: this.sizes.charts, refused: 0 }, rejected: { total: 0, byReason: {} }, stages: [] }
    if (api === 'lines') return { lines: [line], refused: [] }
    if (api === `lines/${LINE}`) return { ...line, definition: { shifts: [] }, invisible: [], invisibleText: '', rejectedLast: [] }
    switch (api.slice(`lines/${LINE}/`.length)) {
      case 'features':
        return {
          features: this.counts.map((_, chart) => ({ feature: `feature-${chart}`, title: `Feature ${chart}`, section: 'preheat', unit: '°C', windowS: 600, charts: ['individuals'], baseline: { status: 'accepted', n: 300, target: 300 }, evidence: { status: 'quiet', shiftSigma: 0 } })),
        }
      case 'points': {
        const chart = Number(/\d+$/.exec(url.searchParams.get('feature') ?? '')?.[0])
        const count = this.counts[chart] ?? 0
        const from = Date.parse(url.searchParams.get('from') ?? '') || 0
        const limit = Math.min(Number(url.searchParams.get('limit') ?? this.sizes.points), this.sizes.points)
        const first = Math.max(0, count - limit, Math.ceil((from - this.startMs) / STEP_MS))
        return { points: Array.from({ length: Math.max(0, count - first) }, (_, index) => this.point(chart, first + index)) }
      }
      case 'states':
        return { states: Array.from({ length: 40 }, (_, index) => ({ time: new Date(this.startMs + index * 6 * 3_600_000).toISOString(), state: index % 2 === 0 ? 'production' : 'idle', previous: 'idle', recipe: index % 2 === 0 ? 'board-a' : '' })) }
      case 'marks':
        return { marks: Array.from({ length: 12 }, (_, index) => ({ time: new Date(this.startMs + index * 20 * 3_600_000).toISOString(), kind: 'record', section: 'preheat', words: 'Clean the vents', cleaning: true })) }
      case 'signals':
        return { signals: [] }
      case 'insights':
        return { insights: [] }
      default:
        return {}
    }
  }
}

/** Script and style of a page as they travel, compressed. */
function bytes(folder: string): number {
  return ['main.js', 'main.css'].map((name) => join(folder, name)).filter(existsSync).reduce((sum, file) => sum + gzipSync(readFileSync(file), { level: 9 }).length, 0)
}

function print(sizes: Sizes, ours: Measured, bare: Measured, size: { readonly ours: number; readonly bare: number }): void {
  const row = (name: string, one: number, other: number, unit: string): string => `${name.padEnd(44)}${one.toFixed(unit === 'KB' ? 1 : 0).padStart(9)}${other.toFixed(unit === 'KB' ? 1 : 0).padStart(9)} ${unit.padEnd(4)}${other > 0 ? `${(one / other).toFixed(2)}x`.padStart(8) : ''}`
  console.log(`${sizes.charts} charts of ${sizes.points} points in Chromium; medians`)
  console.log(`${''.padEnd(44)}${'page'.padStart(9)}${'bare'.padStart(9)}`)
  console.log(row('all charts drawn, from the navigation', ours.firstMs, bare.firstMs, 'ms'))
  console.log(row('zoom of all charts, to the second frame', ours.zoomMs, bare.zoomMs, 'ms'))
  console.log(row(`frames in ${LIVE_SECONDS} s with ${UPDATES_PER_SECOND} updates a second`, ours.frames, bare.frames, ''))
  console.log(row(`of these longer than ${FRAME_MS_MAX} ms`, ours.droppedFrames, bare.droppedFrames, ''))
  console.log(row('longest of them', ours.longestFrameMs, bare.longestFrameMs, 'ms'))
  console.log(row('script and style, compressed', size.ours / 1024, size.bare / 1024, 'KB'))
}

await main()
