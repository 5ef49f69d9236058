import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { packageRoot } from '../node-red/host.js'

/** The flow of the demonstration; ports and seed come from the environment. */
export function demoFlow(): readonly object[] {
  return readFlow('demo.json')
}

/** The flow for one's own line; definition file and broker come from the environment. */
export function lineFlow(): readonly object[] {
  return readFlow('your-line.json').map((node) =>
    'type' in node && node.type === 'solder-line' ? { ...node, source: 'file', file: '${WAVE_SPC_LINE}', broker: '${WAVE_SPC_BROKER}' } : node,
  )
}

function readFlow(name: string): readonly object[] {
  // A clone has `flows`, an installed package the same files as `examples`.
  for (const folder of ['flows', 'examples']) {
    try {
      return JSON.parse(readFileSync(join(packageRoot(), folder, name), 'utf8')) as object[]
    } catch (error) {
      if (!(error instanceof Error && 'code' in error && error.code === 'ENOENT')) throw error
    }
  }
  throw new Error(`the flow ${name} is missing from the package`)
}
