import { existsSync, readFileSync, readdirSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'

const types = readdirSync('nodes')
const packageJson = JSON.parse(readFileSync('package.json', 'utf8')) as { 'node-red': { nodes: Record<string, string> }; files: string[] }
const flows = readdirSync('flows').filter((name) => name.endsWith('.json'))

/** All paths of the leaves of a JSON object, e.g. `status.learning`. */
function keyPaths(value: unknown, prefix = ''): string[] {
  if (typeof value !== 'object' || value === null) return [prefix]
  return Object.entries(value).flatMap(([key, child]) => keyPaths(child, prefix === '' ? key : `${prefix}.${key}`))
}

function localeKeys(type: string, language: string): string[] {
  return keyPaths(JSON.parse(readFileSync(join('nodes', type, 'locales', language, `${type}.json`), 'utf8'))).sort()
}

describe('nodes', () => {
  it('are all named in package.json, and no other', () => {
    expect(Object.keys(packageJson['node-red'].nodes).sort()).toEqual([...types].sort())
    for (const [type, file] of Object.entries(packageJson['node-red'].nodes)) expect(file).toBe(`dist/nodes/${type}/${type}.js`)
  })

  it.each(types)('%s has runtime, editor part, help and an icon', (type) => {
    for (const file of [`${type}.ts`, `${type}.html`, `locales/en-US/${type}.json`, `locales/en-US/${type}.html`]) {
      expect(existsSync(join('nodes', type, file)), file).toBe(true)
    }
  })

  it.each(types)('%s has the same keys in en-US and es', (type) => {
    expect(localeKeys(type, 'es')).toEqual(localeKeys(type, 'en-US'))
  })

  it.each(types)('%s uses only text keys that its en-US file has', (type) => {
    const keys = localeKeys(type, 'en-US')
    const sources = [`${type}.ts`, `${type}.html`].map((name) => readFileSync(join('nodes', type, name), 'utf8')).join('\n')
    const used = [...sources.matchAll(/data-i18n="(?:\[[a-z]+\])?([a-zA-Z0-9.-]+)"|['"`]((?:[a-z-]+)\.(?:status|label|error|placeholder)[a-zA-Z0-9.-]*)['"`]/g)]
      .map((match) => match[1] ?? match[2] ?? '')
      .filter((key) => key.startsWith(`${type}.`))
    expect(used.filter((key) => !keys.includes(key))).toEqual([])
  })

  it('stand in an example flow', () => {
    const used = new Set(flows.flatMap((name) => (JSON.parse(readFileSync(join('flows', name), 'utf8')) as { type: string }[]).map((node) => node.type)))
    expect(types.filter((type) => !used.has(type))).toEqual([])
  })

  it('keep secrets out of the flows', () => {
    for (const name of flows) expect(readFileSync(join('flows', name), 'utf8')).not.toMatch(/"(password|token|secret)"\s*:\s*"[^"]+"/)
  })
})
