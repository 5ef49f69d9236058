import { fork, type ChildProcess } from 'node:child_process'
import { mkdirSync, rmSync } from 'node:fs'
import { basename, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { build } from 'esbuild'

const CACHE = fileURLToPath(new URL('../node_modules/.cache/child-scripts/', import.meta.url))

/** A TypeScript file made runnable for child processes of a test. */
export interface ChildScript {
  /** Starts it with `args`; its messages come by `process.send`, its output is kept off the test's. */
  start(args: readonly string[]): ChildProcess
  remove(): void
}

/**
 * Bundles a script so that plain Node can run it in a child process; packages stay outside.
 *
 * @param entry absolute path of the .ts file
 */
export async function bundleChildScript(entry: string): Promise<ChildScript> {
  mkdirSync(CACHE, { recursive: true })
  const file = join(CACHE, `${basename(entry, '.ts')}-${process.pid}-${Math.random().toString(36).slice(2)}.mjs`)
  await build({ entryPoints: [entry], outfile: file, bundle: true, platform: 'node', format: 'esm', target: 'node20', packages: 'external', logLevel: 'silent' })
  return {
    start: (args) => fork(file, [...args], { stdio: ['ignore', 'pipe', 'pipe', 'ipc'], execArgv: [] }),
    remove: () => rmSync(file, { force: true }),
  }
}

/** Resolves with how the child ended and what it wrote. */
export function endOf(child: ChildProcess): Promise<{ readonly code: number | null; readonly signal: NodeJS.Signals | null; readonly stdout: string; readonly stderr: string }> {
  let stdout = ''
  let stderr = ''
  child.stdout?.on('data', (part: Buffer) => (stdout += part.toString()))
  child.stderr?.on('data', (part: Buffer) => (stderr += part.toString()))
  return new Promise((resolve) => {
    child.once('close', (code, signal) => resolve({ code, signal, stdout, stderr }))
  })
}
