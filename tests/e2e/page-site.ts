import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { createServer, type Server } from 'node:http'
import { createRequire } from 'node:module'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { build } from 'esbuild'
import { chromium, type Browser, type BrowserContextOptions, type Page } from 'playwright-core'
import { parseLineDefinition, type LineDefinitionInput } from '../../src/line/line-definition.js'
import { HttpApi, type HostApplication } from '../../src/service/http/http-api.js'
import { OwnHistory } from '../../src/service/own-history/own-history.js'
import type { RunningLine } from '../../src/service/running-line.js'
import { acquireSite, releaseSite, type Site } from '../../src/service/site.js'
import { worksOfRecord } from '../../src/service/simulator-drive.js'
import type { SiteView } from '../../src/service/site-view.js'
import { samplesAsMessage } from '../../src/simulator/demo-line.js'
import { describeLine } from '../../src/simulator/line-description.js'
import type { SimulationConfig } from '../../src/simulator/simulation-config.js'
import { createSimulation, type Simulation } from '../../src/simulator/simulation.js'

const CHECKOUT = join(import.meta.dirname, '../..')
const CHROMIUM = '/usr/bin/chromium'
const CHROMIUM_ARGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync']
const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')
const express = createRequire(import.meta.url)('express') as () => HostApplication & Parameters<typeof createServer>[1]

/** A site with its API and the page of this checkout, in this process, and a real browser. */
export class PageSite {
  /** What the service logged and what a page complained of. */
  readonly faults: string[] = []
  private server: Server | undefined
  private port = 0
  private history: OwnHistory | undefined

  private constructor(
    readonly folder: string,
    public site: Site,
    readonly browser: Browser,
    private readonly shown: ((site: Site) => SiteView) | undefined,
  ) {}

  /** @param shown what the API is to see instead of the site itself */
  static async open(shown?: (site: Site) => SiteView): Promise<PageSite> {
    if (!existsSync(CHROMIUM)) throw new Error(`there is no ${CHROMIUM}: this test drives a real browser; on Debian: apt-get install chromium`)
    const folder = mkdtempSync(join(tmpdir(), 'page-'))
    await build({ absWorkingDir: CHECKOUT, entryPoints: ['src/page/main.tsx', 'src/page/offline-worker.ts'], bundle: true, minify: true, format: 'esm', target: 'es2022', jsx: 'automatic', jsxImportSource: 'preact', outdir: join(folder, 'page'), logLevel: 'error' })
    cpSync(join(CHECKOUT, 'src/page/index.html'), join(folder, 'page', 'index.html'))
    const site = await acquireSite({ dataFolder: join(folder, 'data'), log: () => undefined })
    const browser = await chromium.launch({ executablePath: CHROMIUM, args: CHROMIUM_ARGS })
    const opened = new PageSite(folder, site, browser, shown)
    await opened.listen()
    return opened
  }

  get base(): string {
    return `http://127.0.0.1:${this.port}/wave-solder/`
  }

  /** Serves on the port it had before. */
  async listen(): Promise<void> {
    const site = this.shown?.(this.site) ?? this.site
    this.history ??= new OwnHistory(join(this.folder, 'own-history'), 'dist/src/service/command-line.js')
    const { history } = this
    const api = new HttpApi({ site: () => site, ownHistory: () => history, pageFolder: join(this.folder, 'page'), version: '0.0.0', log: (message) => this.faults.push(message) })
    this.site.onOutput((stored) => api.stream.publish(stored))
    const application = express()
    api.mount(application)
    const server = createServer(application)
    await new Promise<void>((resolve) => server.listen(this.port, '127.0.0.1', resolve))
    this.port = (server.address() as AddressInfo).port
    this.server = server
  }

  async shut(): Promise<void> {
    this.server?.closeAllConnections()
    await new Promise<void>((resolve) => (this.server === undefined ? resolve() : this.server.close(() => resolve())))
    this.server = undefined
  }

  /** @param expected console errors that belong to the test */
  async page(options: BrowserContextOptions = {}, expected = /^$/): Promise<Page> {
    const page = await (await this.browser.newContext({ locale: 'en-US', viewport: { width: 1280, height: 900 }, ...options })).newPage()
    page.on('pageerror', (error) => this.faults.push(error.message))
    page.on('console', (message) => {
      if (message.type() === 'error' && !expected.test(message.text())) this.faults.push(message.text())
    })
    return page
  }

  async ask<T>(path: string): Promise<T> {
    const response = await fetch(`${this.base}api/${path}`)
    if (!response.ok) throw new Error(await response.text())
    return (await response.json()) as T
  }

  async send(path: string, body: unknown): Promise<Record<string, unknown>> {
    const response = await fetch(`${this.base}api/${path}`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) })
    if (!response.ok) throw new Error(await response.text())
    return (await response.json()) as Record<string, unknown>
  }

  openLine(input: object): RunningLine {
    const parsed = parseLineDefinition(input)
    if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
    return this.site.openLine({ definition: parsed.definition, stages: undefined, mqtt: false })
  }

  async close(): Promise<void> {
    await this.browser.close()
    await this.shut()
    await releaseSite(this.site)
    rmSync(this.folder, { recursive: true, force: true })
  }
}

/** A simulated line of a site, fed as fast as it is taken; work that is recorded is done on it, as the simulator node does. */
export class FedLine {
  private constructor(
    readonly line: RunningLine,
    readonly simulation: Simulation,
  ) {}

  static open(pages: PageSite, config: SimulationConfig, input: Partial<LineDefinitionInput> & { readonly line: string }): FedLine {
    const simulation = createSimulation(config)
    const fed = new FedLine(pages.openLine({ ...describeLine(simulation, { line: input.line }), ...input }), simulation)
    fed.line.onOutput(['fact'], ({ output }) => {
      if (output.kind === 'fact' && output.body.type === 'record' && !output.body.withdrawn && output.body.earlier.length === 0) for (const work of worksOfRecord(output.body.record)) simulation.perform(work)
    })
    return fed
  }

  /** Feeds until a condition holds, looked at every simulated half hour or so. @throws Error if the simulation ends before */
  async feedUntil(holds: () => boolean, what: string): Promise<void> {
    while (!holds()) {
      const ticks: string[] = []
      const fromMs = this.simulation.timeMs
      while (this.simulation.timeMs - fromMs < 1_800_000) {
        const sample = this.simulation.next()
        if (sample === undefined) throw new Error(`the simulated line has ended before ${what}`)
        if (sample.values.length > 0) ticks.push(samplesAsMessage(sample))
        // What the inspection finds comes later, with the time of its board.
        for (const [channel, value, timeMs] of sample.delayed) ticks.push(JSON.stringify({ t: timeMs, v: { [channel]: value } }))
      }
      const { seq } = await this.line.submit({ kind: 'message', topic: `wave-solder/${this.line.definition.line}/telemetry`, payload: `[${ticks.join(',')}]` })
      await this.line.stepped(seq)
    }
  }

  async feedTo(timeMs: number): Promise<void> {
    await this.feedUntil(() => this.simulation.timeMs >= timeMs, new Date(timeMs).toISOString())
  }
}

/** What axe finds against WCAG 2.2 A and AA on the screen that is shown, with the elements. */
export async function barriers(page: Page): Promise<string[]> {
  await page.evaluate(AXE)
  return page.evaluate(async () => {
    const { axe } = globalThis as unknown as { axe: { run(options: unknown): Promise<{ violations: { id: string; nodes: { html: string; failureSummary: string }[] }[] }> } }
    const { violations } = await axe.run({ runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] })
    return violations.flatMap(({ id, nodes }) => nodes.slice(0, 3).map(({ html, failureSummary }) => `${id}: ${html.slice(0, 200)} ${failureSummary.replace(/\s+/g, ' ').slice(0, 300)}`))
  })
}

/** Pictures for whoever wants to look: name the folder in WAVE_SPC_PICTURES. */
export async function picture(page: Page, name: string): Promise<void> {
  const to = process.env['WAVE_SPC_PICTURES']
  if (to === undefined) return
  mkdirSync(to, { recursive: true })
  await page.screenshot({ path: join(to, `${name}.png`), fullPage: true })
}

/** Whether nothing reaches over the right edge. */
export async function fits(page: Page): Promise<boolean> {
  return page.evaluate('document.documentElement.scrollWidth <= window.innerWidth')
}

/** Every screen of the page, with the line's name where its address has one. */
export function screensOf(line: string): readonly string[] {
  return ['shift', 'lines', `lines/${line}`, `charts/${line}`, `baselines/${line}`, 'plan', 'cost', 'report', 'wall', 'own-history', 'setup', `changes/${line}`, `hold/${line}`, `start-up/${line}`, `intervals/${line}`, `records/${line}`]
}
