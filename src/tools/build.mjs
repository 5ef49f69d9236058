// Builds the package: TypeScript to dist/, the files Node-RED looks for beside each node, the page, the example flows.
import { spawnSync } from 'node:child_process'
import { cpSync, existsSync, mkdirSync, readdirSync, rmSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { build } from 'esbuild'

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..')
process.chdir(root)

// What a renamed or removed source left behind must not be run or packed.
for (const part of ['src', 'nodes']) rmSync(join('dist', part), { recursive: true, force: true })

const tsc = spawnSync(process.execPath, ['node_modules/typescript/bin/tsc', '-p', 'src/tools/tsconfig.build.json'], { stdio: 'inherit' })
if (tsc.status !== 0) process.exit(tsc.status ?? 1)

// tsc does not copy what it does not compile; Node-RED wants html, locales and icons beside the .js.
for (const type of readdirSync('nodes')) {
  for (const part of [`${type}.html`, 'locales', 'icons']) {
    const from = join('nodes', type, part)
    if (existsSync(from)) cpSync(from, join('dist', 'nodes', type, part), { recursive: true })
  }
}

// Node-RED offers example flows from a folder of exactly this name.
rmSync('examples', { recursive: true, force: true })
mkdirSync('examples', { recursive: true })
for (const file of readdirSync('flows')) if (file.endsWith('.json')) cpSync(join('flows', file), join('examples', file))

if (existsSync('src/page/index.html')) {
  await build({
    entryPoints: ['src/page/main.tsx', 'src/page/offline-worker.ts'],
    bundle: true,
    minify: true,
    format: 'esm',
    target: 'es2022',
    jsx: 'automatic',
    jsxImportSource: 'preact',
    outdir: 'dist/page',
    logLevel: 'warning',
  })
  cpSync('src/page/index.html', 'dist/page/index.html')
}
