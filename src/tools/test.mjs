// Runs everything: build, type check, all tests against real parts. On Debian as root it installs the parts that are
// missing; elsewhere it says which are. With CI=true a missing part is a failure, and no test is ever skipped.
import { spawnSync } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { delimiter, dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..')
process.chdir(root)
process.env.PATH = [process.env.PATH, '/usr/sbin', '/usr/local/sbin'].filter(Boolean).join(delimiter)

/** Real programs the tests speak to, and the Debian packages that bring them. */
const PARTS = [
  { program: 'mosquitto', packages: ['mosquitto'], what: 'a broker of another make' },
  { program: 'mosquitto_pub', packages: ['mosquitto-clients'], what: 'its command-line clients' },
  { program: 'chromium', packages: ['chromium'], what: 'a browser for the page' },
  { program: 'influxd', packages: ['influxdb'], what: 'an InfluxDB for the history' },
]

const found = (program) => process.env.PATH.split(delimiter).some((folder) => existsSync(join(folder, program)))
const missing = () => PARTS.filter(({ program }) => !found(program))

function run(command, args) {
  const { status, signal, error } = spawnSync(command, args, { stdio: 'inherit' })
  if (error !== undefined) throw error
  if (status !== 0) process.exit(status ?? (signal === null ? 1 : 2))
}

function installMissing() {
  const packages = missing().flatMap((part) => part.packages)
  if (packages.length === 0 || process.getuid?.() !== 0 || !found('apt-get')) return
  console.log(`installing ${packages.join(', ')} …`)
  const quietly = { stdio: ['ignore', 'ignore', 'pipe'], encoding: 'utf8', env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' } }
  spawnSync('apt-get', ['-qq', 'update'], quietly)
  // One by one: a package that one mirror lacks must not keep the others away.
  for (const name of packages) {
    const { status, stderr } = spawnSync('apt-get', ['-qq', '-y', '--no-install-recommends', 'install', name], quietly)
    if (status !== 0) console.error(`could not install ${name}: ${String(stderr).trim().split('\n').at(-1) ?? ''}`)
  }
}

installMissing()
const still = missing()
if (still.length > 0) {
  console.error('Missing, and the tests that need them will fail:')
  for (const { program, packages, what } of still) console.error(`  ${program} (${what}); on Debian: apt-get install ${packages.join(' ')}`)
  if (process.env.CI === 'true') process.exit(1)
}

run(process.execPath, ['src/tools/build.mjs'])
run(process.execPath, ['node_modules/typescript/bin/tsc', '-p', '.', '--noEmit'])
if (existsSync('src/page/tsconfig.json')) run(process.execPath, ['node_modules/typescript/bin/tsc', '-p', 'src/page', '--noEmit'])
const report = join(mkdtempSync(join(tmpdir(), 'wave-solder-tests-')), 'report.json')
const { status } = spawnSync(process.execPath, ['node_modules/vitest/vitest.mjs', 'run', '--reporter=default', '--reporter=json', `--outputFile.json=${report}`, ...process.argv.slice(2)], { stdio: 'inherit' })
if (existsSync(report)) {
  const { numPassedTests, numFailedTests } = JSON.parse(readFileSync(report, 'utf8'))
  console.log(`${numPassedTests} passed, ${numFailedTests} failed`)
}
process.exit(status ?? 1)
