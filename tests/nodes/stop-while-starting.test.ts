import { spawn } from 'node:child_process'
import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { createServer, type AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'

const COMMAND = 'dist/src/service/command-line.js'
const folder = mkdtempSync(join(tmpdir(), 'stop-'))
let end: (() => void) | undefined

afterEach(() => {
  end?.()
  rmSync(folder, { recursive: true, force: true })
})

async function freePort(): Promise<string> {
  const server = createServer()
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  const { port } = server.address() as AddressInfo
  await new Promise<void>((resolve) => server.close(() => resolve()))
  return String(port)
}

describe('start, told to end', () => {
  it('ends although its flows are only just starting', { timeout: 60_000 }, async () => {
    if (!existsSync(COMMAND)) throw new Error(`${COMMAND} is missing: run npm run build first`)
    const child = spawn(process.execPath, [COMMAND, 'start', '--port', await freePort(), '--mqtt-port', await freePort(), '--data', join(folder, 'data'), '--seed', '7'], { stdio: ['ignore', 'pipe', 'pipe'] })
    end = () => child.kill('SIGKILL')
    let text = ''
    let code: number | null | undefined
    child.once('exit', (status) => (code = status))
    child.stderr.on('data', (part: Buffer) => (text += part.toString()))
    child.stdout.on('data', (part: Buffer) => {
      text += part.toString()
      // The greeting comes before Node-RED has made the first node.
      if (part.includes('Ctrl-C ends')) child.kill('SIGINT')
    })
    await expect.poll(() => code, { timeout: 50_000 }).toBe(0)
    expect(text).toContain('ending')
    expect(text).not.toMatch(/ECONNREFUSED|[Ee]rror/)
  })
})
