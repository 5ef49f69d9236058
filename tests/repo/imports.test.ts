import { readFileSync, readdirSync } from 'node:fs'
import { dirname, join, normalize } from 'node:path'
import { describe, expect, it } from 'vitest'

/** Who may import whom: the dependency table of DEVELOPERS.md. A part may always import from itself. */
const MAY_IMPORT: Readonly<Record<string, readonly string[]>> = {
  'src/spc': [],
  'src/line': ['src/spc'],
  'src/maintenance': ['src/spc', 'src/line'],
  'src/monitor': ['src/spc', 'src/line', 'src/maintenance'],
  'src/ports': ['src/line', 'src/maintenance', 'src/monitor', 'src/spc'],
  'src/adapters': ['src/ports', 'src/monitor', 'src/line', 'src/maintenance', 'src/spc'],
  'src/runtime': ['src/monitor', 'src/ports', 'src/line', 'src/maintenance', 'src/spc'],
  'src/service': ['src/spc', 'src/line', 'src/maintenance', 'src/monitor', 'src/ports', 'src/adapters', 'src/runtime', 'src/simulator'],
  'src/simulator': [],
  'src/page': [],
  nodes: ['src/runtime', 'src/ports', 'src/service', 'src/spc', 'src/line', 'src/monitor', 'src/maintenance'],
}

/** Folders that must not know the time of day, chance, files or the network. */
const PURE = ['src/spc', 'src/line', 'src/maintenance', 'src/monitor', 'src/simulator']

const IMPURE_TEXT = /\bDate\.now\s*\(|\bnew Date\(\s*\)|\bMath\.random\b|\bprocess\.(?:env|argv|stdout|stderr|stdin|exit|hrtime|cwd|nextTick|memoryUsage|uptime|pid|on)\b|\bperformance\.now|\bsetTimeout\b|\bsetInterval\b|\bfetch\(/

function sourceFiles(folder: string): string[] {
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .map((name) => join(folder, name))
    .filter((name) => /\.tsx?$/.test(name))
}

function partOf(file: string): string | undefined {
  return Object.keys(MAY_IMPORT).find((part) => file.startsWith(`${part}/`))
}

interface Import {
  readonly from: string
  readonly target: string
}

function importsOf(file: string): Import[] {
  const text = readFileSync(file, 'utf8')
  const found = [...text.matchAll(/(?:from|import)\s*\(?\s*'([^']+)'/g)].map((match) => match[1] ?? '')
  return found.map((target) => ({ from: file, target: target.startsWith('.') ? normalize(join(dirname(file), target)) : target }))
}

const files = ['src', 'nodes'].flatMap(sourceFiles).filter((file) => !file.startsWith('src/tools/'))

describe('imports', () => {
  it('finds source files in every part of the table', () => {
    expect(Object.keys(MAY_IMPORT).filter((part) => !files.some((file) => file.startsWith(`${part}/`)))).toEqual([])
  })

  it('point down the dependency table only', () => {
    const wrong = files.flatMap((file) => {
      const part = partOf(file)
      if (part === undefined) return [`${file}: stands in no part of the table`]
      return importsOf(file)
        .filter(({ target }) => target.startsWith('src/') || target.startsWith('nodes/'))
        .filter(({ target }) => {
          const targetPart = partOf(target)
          return targetPart !== part && (targetPart === undefined || !MAY_IMPORT[part]?.includes(targetPart))
        })
        .map(({ target }) => `${file} -> ${target}`)
    })
    expect(wrong).toEqual([])
  })

  it('keep clock, chance and I/O out of the pure folders', () => {
    const wrong = files
      .filter((file) => PURE.some((folder) => file.startsWith(`${folder}/`)))
      .flatMap((file) => {
        const lines = readFileSync(file, 'utf8').split('\n')
        const impure = lines.flatMap((line, index) => (IMPURE_TEXT.test(line.replace(/^\s*(\/?\*|\/\/).*$/, '')) ? [`${file}:${index + 1}: ${line.trim()}`] : []))
        const builtins = importsOf(file).filter(({ target }) => target.startsWith('node:')).map(({ target }) => `${file} -> ${target}`)
        return [...impure, ...builtins]
      })
    expect(wrong).toEqual([])
  })
})
