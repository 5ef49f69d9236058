import { spawn, type ChildProcess } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { createServer, type AddressInfo, type Server } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'

const COMMAND = 'dist/src/service/command-line.js'

let folder = ''
const children: Started[] = []

interface Started {
  readonly child: ChildProcess
  readonly out: () => string
  readonly ended: Promise<number | null>
}

beforeEach(() => {
  if (!existsSync(COMMAND)) throw new Error(`${COMMAND} is missing: run npm run build first`)
  folder = mkdtempSync(join(tmpdir(), 'start-'))
})

afterEach(async () => {
  for (const { child, ended } of children.splice(0)) {
    child.kill('SIGKILL')
    await ended
  }
  rmSync(folder, { recursive: true, force: true })
})

function start(...args: string[]): Started {
  const child = spawn(process.execPath, [COMMAND, 'start', ...args], { stdio: ['ignore', 'pipe', 'pipe'], env: { ...process.env, WAVE_SPC_DATA: join(folder, 'data'), WAVE_SPC_PORT: '', WAVE_SPC_MQTT_PORT: '' } })
  let text = ''
  child.stdout?.on('data', (part: Buffer) => (text += part.toString()))
  child.stderr?.on('data', (part: Buffer) => (text += part.toString()))
  const started = { child, out: () => text, ended: new Promise<number | null>((resolve) => child.once('exit', resolve)) }
  children.push(started)
  return started
}

async function freePort(): Promise<number> {
  const server = createServer()
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  const { port } = server.address() as AddressInfo
  await new Promise<void>((resolve) => server.close(() => resolve()))
  return port
}

async function occupy(): Promise<{ readonly port: number; readonly server: Server }> {
  const server = createServer()
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  return { port: (server.address() as AddressInfo).port, server }
}

async function json(url: string): Promise<Record<string, unknown> | undefined> {
  try {
    return (await (await fetch(url)).json()) as Record<string, unknown>
  } catch {
    return undefined
  }
}

interface LineNow {
  readonly line: string
  readonly dataTime?: string
}

async function dataTime(port: number): Promise<string> {
  const answer = await json(`http://127.0.0.1:${port}/wave-solder/api/lines`)
  return ((answer?.['lines'] as LineNow[] | undefined) ?? []).find(({ line }) => line === 'north-1')?.dataTime ?? ''
}

describe('start', () => {
  it('runs the demonstration, says what it is, ends at SIGINT, and goes on from there', { timeout: 120_000 }, async () => {
    const [port, mqttPort] = [await freePort(), await freePort()]
    const first = start('--port', String(port), '--mqtt-port', String(mqttPort), '--seed', '7')
    await expect.poll(first.out, { timeout: 40_000 }).toContain('Ctrl-C ends')
    expect(first.out()).toContain(`http://127.0.0.1:${port}/wave-solder/`)
    expect(first.out()).toContain('SIMULATED, in ACCELERATED time')
    expect(first.out()).toContain('seed 7')
    await expect.poll(() => dataTime(port), { timeout: 40_000 }).toMatch(/^2026-01-05T0[3-9]/)
    expect(await json(`http://127.0.0.1:${port}/wave-solder/healthz`)).toMatchObject({ status: 'ok', lines: [{ line: 'north-1' }, { line: 'north-2' }] })
    expect((await fetch(`http://127.0.0.1:${port}/editor/`)).status).toBe(200)
    expect((await fetch(`http://127.0.0.1:${port}/`, { redirect: 'manual' })).headers.get('location')).toBe('/wave-solder/')
    const reached = await dataTime(port)
    first.child.kill('SIGINT')
    expect(await first.ended).toBe(0)
    expect(first.out()).not.toMatch(/error|Error/)

    const second = start('--port', String(port), '--mqtt-port', String(mqttPort))
    await expect.poll(second.out, { timeout: 40_000 }).toContain('seed 7')
    await expect.poll(() => dataTime(port), { timeout: 40_000 }).not.toBe('')
    expect((await dataTime(port)) >= reached).toBe(true)
    await expect.poll(async () => (await dataTime(port)) > reached, { timeout: 40_000 }).toBe(true)
    const line = await json(`http://127.0.0.1:${port}/wave-solder/api/lines/north-1`)
    expect(line?.['rejected']).toEqual({ total: 0, byReason: {} })
    second.child.kill('SIGTERM')
    expect(await second.ended).toBe(0)
  })

  it.each(['--port', '--mqtt-port'])('says in one line that the port of %s is taken, and ends with 1', async (option) => {
    const { port, server } = await occupy()
    const other = option === '--port' ? '--mqtt-port' : '--port'
    const started = start(option, String(port), other, String(await freePort()))
    expect(await started.ended).toBe(1)
    server.close()
    expect(started.out().trim()).toBe(`port ${port} is taken by another program: stop it, or choose another port with ${option} or ${option === '--port' ? 'WAVE_SPC_PORT' : 'WAVE_SPC_MQTT_PORT'}`)
  })

  it('says that another process has the data folder', { timeout: 60_000 }, async () => {
    const first = start('--port', String(await freePort()), '--mqtt-port', String(await freePort()), '--seed', '7')
    await expect.poll(first.out, { timeout: 40_000 }).toContain('Ctrl-C ends')
    const second = start('--port', String(await freePort()), '--mqtt-port', String(await freePort()))
    expect(await second.ended).toBe(1)
    expect(second.out()).toContain('is in use by another process')
    expect(second.out().trim().split('\n')).toHaveLength(1)
  })

  it.each([
    [['--host', '0.0.0.0'], /WAVE_SPC_USER/],
    [['--port', 'eighty'], /--port: expected a whole number/],
    [['--line', '/no/such/line.json', '--broker', 'mqtt://localhost'], /there is no file/],
    [['--broker', 'mqtt://localhost'], /--broker goes with --line/],
    [['--colour', 'red'], /--colour/],
  ])('refuses %j with one clear line and exit code 2', async (args, message) => {
    const started = start(...args)
    expect(await started.ended).toBe(2)
    expect(started.out()).toMatch(message)
    expect(started.out()).not.toContain('    at ')
  })

  it("runs one's own line without simulator or broker, and keeps edits of the flow", { timeout: 60_000 }, async () => {
    const lineFile = join(folder, 'my-line.json')
    writeFileSync(lineFile, JSON.stringify({ line: 'line-a', title: 'Line A' }))
    const port = await freePort()
    const started = start('--port', String(port), '--line', lineFile, '--broker', `mqtt://127.0.0.1:${await freePort()}`)
    await expect.poll(started.out, { timeout: 40_000 }).toContain('Nothing is simulated')
    await expect.poll(async () => ((await json(`http://127.0.0.1:${port}/wave-solder/api/lines`))?.['lines'] as LineNow[] | undefined)?.map(({ line }) => line), { timeout: 20_000 }).toEqual(['line-a'])
    started.child.kill('SIGINT')
    expect(await started.ended).toBe(0)
    const flow = readFileSync(join(folder, 'data', 'node-red', 'flows-line-a.json'), 'utf8')
    expect(flow).not.toContain('line-simulator')
    expect(flow).toContain('${WAVE_SPC_LINE}')
  })
})
