import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { existsSync, mkdirSync, writeFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { freePort, listensOn } from './brokers.js'

/** Root of the checkout. */
export const CHECKOUT = fileURLToPath(new URL('..', import.meta.url))

/** Node-RED as anybody runs it: a process of its own on a user folder. */
export interface NodeRedProcess {
  /** Without a slash at its end. */
  readonly url: string
  readonly log: () => string
  stop(): Promise<void>
}

export interface NodeRedOptions {
  /** Its packages are found in `node_modules` there. */
  readonly userDir: string
  /** A package to take nodes from besides. */
  readonly nodesDir?: string
  /** What runs from the beginning. */
  readonly flow: readonly object[]
  readonly env: Readonly<Record<string, string>>
}

/** Starts Node-RED's own command and resolves when it answers. */
export async function startNodeRed({ userDir, nodesDir, flow, env }: NodeRedOptions): Promise<NodeRedProcess> {
  const port = await freePort()
  mkdirSync(userDir, { recursive: true })
  writeFileSync(join(userDir, 'flows.json'), JSON.stringify(flow))
  const settings = {
    uiHost: '127.0.0.1',
    uiPort: port,
    flowFile: 'flows.json',
    credentialSecret: 'of this test only',
    telemetry: { enabled: false, updateNotification: false },
    ...(nodesDir === undefined ? {} : { nodesDir: [nodesDir] }),
  }
  writeFileSync(join(userDir, 'settings.cjs'), `module.exports = ${JSON.stringify(settings)}\n`)
  const command = join(createRequire(import.meta.url).resolve('node-red/package.json'), '..', 'red.js')
  const child = spawn(process.execPath, [command, '--userDir', userDir, '--settings', join(userDir, 'settings.cjs')], { cwd: userDir, stdio: ['ignore', 'pipe', 'pipe'], env: { ...process.env, ...env } })
  const ended = once(child, 'exit')
  let log = ''
  child.stdout.on('data', (part: Buffer) => (log += part.toString()))
  child.stderr.on('data', (part: Buffer) => (log += part.toString()))
  try {
    await listensOn(port, () => child.exitCode === null)
  } catch (error) {
    throw new Error(`Node-RED did not start: ${log}`, { cause: error })
  }
  return {
    url: `http://127.0.0.1:${port}`,
    log: () => log,
    stop: async () => {
      child.kill('SIGTERM')
      await ended
    },
  }
}

/** @throws Error that says what to do if the build is missing */
export function requireBuild(...files: readonly string[]): void {
  for (const file of files) if (!existsSync(join(CHECKOUT, file))) throw new Error(`${file} is missing: run npm run build first`)
}
