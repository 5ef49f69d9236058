import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { CHANNEL_KINDS } from '../../../src/line/channels.js'
import { CHANNEL_MEANINGS } from '../../../src/service/channel-list.js'
import { runCheck } from '../../../src/service/check-command.js'
import { readDefinitionFile } from '../../../src/service/definition-file.js'

let folder = ''
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'check-'))
})
afterEach(() => {
  rmSync(folder, { recursive: true, force: true })
})

async function check(text: string): Promise<{ readonly code: number; readonly said: string }> {
  const path = join(folder, 'line.json')
  writeFileSync(path, text)
  let said = ''
  const code = await runCheck([path], (more) => (said += more))
  return { code, said }
}

describe('check', () => {
  it('names line and column where a file is no JSON', async () => {
    expect(await check('{\n  "line": "line-a"\n  "title": "A"\n}\n')).toEqual({ code: 1, said: 'line 3, column 3: not JSON: expected "," or "}", found "title": "A"\n' })
  })

  it('prints every fault with its path', async () => {
    const { code, said } = await check(JSON.stringify({ line: 'line-a', titel: 'A', channels: [{ channel: 'pot.level', unit: 'furlong' }, { channel: 'pot.levle' }] }))
    expect(code).toBe(1)
    expect(said.split('\n').filter((text) => text !== '').map((text) => text.split(': ')[0]).sort()).toEqual(['(whole)', 'channels[0].unit', 'channels[1].channel'])
  })

  it('takes what the other commands take: a byte order mark is no fault anywhere', async () => {
    const { code, said } = await check('\uFEFF{"line": "line-a", "channels": [{"channel": "pot.level", "unit": "mm"}]}')
    expect(code).toBe(0)
    expect(said).toContain('line "line-a" is well described')
    expect(readDefinitionFile(join(folder, 'line.json')).line).toBe('line-a')
  })

  it('refuses a folder and a file that is not there', async () => {
    await expect(runCheck([folder])).rejects.toThrow('is a folder; expected a file')
    await expect(runCheck([join(folder, 'gone.json')])).rejects.toThrow('there is no file')
  })

  it('lists every channel with its unit and what it carries', async () => {
    let said = ''
    expect(await runCheck(['--channels'], (more) => (said += more))).toBe(0)
    expect(Object.keys(CHANNEL_MEANINGS).sort()).toEqual(CHANNEL_KINDS.map(({ pattern }) => pattern).sort())
    for (const { pattern } of CHANNEL_KINDS) expect(said).toMatch(new RegExp(`^${pattern.replaceAll('.', '\\.')}( \\*)?$`, 'm'))
    expect(said).toContain('°C, °F, K')
    expect(said).toContain('running total of boards')
    expect(said).toMatch(/production \(production, producing/)
    expect(said).not.toContain('undefined')
  })

  it('says which kinds of defects hardly tell causes apart', async () => {
    const channels = ['skips', 'bridge', 'dull-joints'].map((kind) => ({ channel: `board.defects.${kind}` }))
    const { code, said } = await check(JSON.stringify({ line: 'line-a', channels }))
    expect(code).toBe(0)
    expect(said).toContain('hardly a cause is told apart by defects called dull-joints; the diagnosis knows skips, bridges, hole-fill')
  })
})
