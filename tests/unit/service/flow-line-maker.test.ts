import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { FlowLineMaker, type NewFlow } from '../../../src/service/start/flow-line-maker.js'
import { define } from '../monitor/monitor-bench.js'

let folder = ''

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'made-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

class Flows {
  nodes = new Set<string>()
  refuses = false

  async add(flow: NewFlow): Promise<void> {
    if (this.refuses) throw new Error('the flows do not take it')
    for (const { id } of [...flow.nodes, ...flow.configs]) this.nodes.add(id)
  }

  hasNode(id: string): boolean {
    return this.nodes.has(id)
  }
}

describe('a line that is made', () => {
  it('is there once, with its definition in a file', async () => {
    const flows = new Flows()
    const maker = new FlowLineMaker(folder, flows, '')
    await maker.addLine(define(), 'mqtt://localhost')
    expect(maker.owns('line-a')).toBe(true)
    expect(readdirSync(folder)).toEqual(['line-a.json'])
    expect(JSON.parse(readFileSync(join(folder, 'line-a.json'), 'utf8'))).toEqual(define())
    await expect(maker.addLine(define({ title: 'again' }), 'mqtt://localhost')).rejects.toThrow('"line-a" is there already')
    expect(JSON.parse(readFileSync(join(folder, 'line-a.json'), 'utf8'))).toEqual(define())
  })

  it('can be made after the flows refused it, and again after its flow was deleted', async () => {
    const flows = new Flows()
    const maker = new FlowLineMaker(folder, flows, '')
    flows.refuses = true
    await expect(maker.addLine(define(), '')).rejects.toThrow('do not take it')
    expect(maker.owns('line-a')).toBe(false)
    flows.refuses = false
    await maker.addLine(define(), '')
    flows.nodes.clear()
    await maker.addLine(define({ title: 'anew' }), '')
    expect(readFileSync(join(folder, 'line-a.json'), 'utf8')).toContain('anew')
  })
})
