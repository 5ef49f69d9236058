// Judges the detector on simulated lines whose parameters are drawn anew for each, beside naive practice and an oracle.
//   node dist/src/tools/bench-detect.js [--set minimum|minimum+|rich|both] [--seeds tuning|reporting] [--first SEED] [--faults N] [--healthy LINES]
//     [--days D] [--pairs N] [--cause ID] [--jobs N] [--results FILE]... [--table] [--verbose]
// Thresholds are set on tuning seeds (below 100,000) and reported on reporting seeds (100,000 and above). Results are kept one JSON line each, so a
// run that was stopped goes on where it was; files of several machines are joined by naming them all, and `--table` prints what is there.
import { availableParallelism } from 'node:os'
import { parseArgs } from 'node:util'
import { isMainThread, parentPort, Worker } from 'node:worker_threads'
import { fileURLToPath } from 'node:url'
import { SIMULATED_FAULTS, type SimulatedFault } from '../simulator/simulation-causes.js'
import type { EpisodeResult } from './detect/detection-score.js'
import { CONFIRMATION_HOURS, STEP_HOURS_LIMIT } from './detect/detection-score.js'
import { OBSERVABLE_BY } from './detect/observability.js'
import { ORACLE } from './detect/oracle.js'
import { buildFingerprint, ResultsFile } from './detect/results-file.js'
import { runEpisode, type EpisodeRequest } from './detect/run-episode.js'
import { causeTable, falseTable, scoreTable } from './detect/score-table.js'
import { UNCONFIRMED, YARDSTICK } from './detect/yardstick.js'

const FIRST_SEED = { tuning: 1, reporting: 100_000 } as const
/** Healthy lines and pairs take their seeds from elsewhere in the same range. */
const HEALTHY_OFFSET = 50_000
const PAIR_OFFSET = 30_000
/** Long enough for an onset in the fourth production day and a growth of three production days over a weekend. */
const FAULT_DAYS_MAX = 16
const CAUSES = Object.keys(SIMULATED_FAULTS) as SimulatedFault[]

/** Two faults at once that temperatures, speed and level can show, and some that need more. */
const PAIRS: readonly (readonly [SimulatedFault, SimulatedFault])[] = [['dirty-chain', 'low-level'], ['coated-thermocouple', 'dry-chain'], ['low-level', 'coated-thermocouple'], ['worn-sprocket', 'low-level'], ['dirty-rails', 'coated-thermocouple']]
const RICH_PAIRS: readonly (readonly [SimulatedFault, SimulatedFault])[] = [['clogged-nozzle', 'dirty-chain'], ['clogged-blower', 'dross-at-intake'], ['leaking-seal', 'coated-emitter']]

interface Plan {
  readonly sets: readonly string[]
  readonly requests: readonly EpisodeRequest[]
  readonly seeds: string
}

function main(): void {
  const { values } = parseArgs({
    options: {
      set: { type: 'string', default: 'both' },
      seeds: { type: 'string', default: 'tuning' },
      first: { type: 'string' },
      faults: { type: 'string', default: '46' },
      healthy: { type: 'string', default: '10' },
      days: { type: 'string', default: '21' },
      pairs: { type: 'string', default: '0' },
      cause: { type: 'string' },
      jobs: { type: 'string', default: String(availableParallelism()) },
      results: { type: 'string', multiple: true, default: ['.wave-solder/bench-detect.jsonl'] },
      table: { type: 'boolean', default: false },
      verbose: { type: 'boolean', default: false },
    },
  })
  if (values.seeds !== 'tuning' && values.seeds !== 'reporting') throw new Error(`--seeds ${values.seeds}: expected tuning or reporting`)
  if (values.cause !== undefined && !CAUSES.includes(values.cause as SimulatedFault)) throw new Error(`--cause ${values.cause}: expected one of ${CAUSES.join(', ')}`)
  const whole = (name: 'faults' | 'healthy' | 'days' | 'pairs' | 'jobs'): number => {
    const count = Number(values[name])
    if (!Number.isInteger(count) || count < 0) throw new Error(`--${name} ${values[name]}: expected a whole number`)
    return count
  }
  const first = values.first === undefined ? FIRST_SEED[values.seeds] : Number(values.first)
  if (!Number.isInteger(first) || first < FIRST_SEED[values.seeds] || (values.seeds === 'tuning' && first + whole('faults') > PAIR_OFFSET)) throw new Error(`--first ${values.first ?? ''}: expected a whole number from 1 to ${PAIR_OFFSET} for tuning seeds, from ${FIRST_SEED.reporting} for reporting seeds`)
  if (!['both', 'minimum', 'minimum+', 'rich'].includes(values.set)) throw new Error(`--set ${values.set}: expected minimum, minimum+, rich or both`)
  const sets = values.set === 'both' ? ['minimum', 'rich'] : [values.set]
  const plan: Plan = {
    sets,
    seeds: `${values.seeds} seeds from ${first}`,
    requests: requestsOf(sets as EpisodeRequest['channels'][], { first, faults: whole('faults'), healthy: whole('healthy'), days: whole('days'), pairs: whole('pairs'), ...(values.cause === undefined ? {} : { cause: values.cause as SimulatedFault }) }),
  }
  const build = buildFingerprint()
  const file = new ResultsFile(values.results, build)
  if (file.otherCount > 0) process.stderr.write(`${file.otherCount} results of other builds left alone\n`)
  const print = (): void => printPlan(plan, file, build, values.verbose)
  if (values.table) print()
  else runAll(plan.requests.filter((request) => file.get(request) === undefined), Math.max(1, whole('jobs')), file, values.verbose, print)
}

/** Causes in turn, so that every cause has its share; the sets and the kinds of line mixed, so that a run stopped early is balanced. */
function requestsOf(sets: readonly EpisodeRequest['channels'][], want: { first: number; faults: number; healthy: number; days: number; pairs: number; cause?: SimulatedFault }): EpisodeRequest[] {
  const { first, faults, healthy, days, pairs } = want
  const common = { onset: 'early', severityEnd: 1, days: FAULT_DAYS_MAX, stopEarly: true, sleepsWhenOff: true } as const
  const placed: { at: number; request: EpisodeRequest }[] = []
  for (const channels of sets) {
    for (let index = 0; index < faults; index += 1) placed.push({ at: (index + 0.5) / faults, request: { ...common, seed: first + index, kind: 'fault', channels, cause: want.cause ?? CAUSES[(first + index) % CAUSES.length]! } })
    for (let index = 0; index < healthy; index += 1) placed.push({ at: (index + 0.5) / healthy, request: { seed: first + HEALTHY_OFFSET + index, kind: 'healthy', channels, days, sleepsWhenOff: true } })
    const kinds = channels === 'rich' ? [...PAIRS, ...RICH_PAIRS] : PAIRS
    for (let index = 0; index < pairs; index += 1) {
      const [cause, secondCause] = kinds[(first + index) % kinds.length]!
      placed.push({ at: (index + 0.5) / pairs, request: { ...common, seed: first + PAIR_OFFSET + index, kind: 'fault', channels, cause, secondCause, faultCount: 2 } })
    }
  }
  return placed.sort((a, b) => a.at - b.at).map(({ request }) => request)
}

function runAll(requests: readonly EpisodeRequest[], jobs: number, file: ResultsFile, verbose: boolean, done: () => void): void {
  let next = 0
  let finished = 0
  let alive = 0
  const started = performance.now()
  const path = fileURLToPath(import.meta.url)
  for (let count = 0; count < Math.min(jobs, requests.length); count += 1) {
    alive += 1
    const worker = new Worker(path)
    let current: EpisodeRequest | undefined
    const give = (): void => {
      current = requests[next]
      next += 1
      if (current === undefined) void worker.terminate()
      else worker.postMessage(current)
    }
    worker.on('message', (result: EpisodeResult) => {
      file.add(current!, result)
      finished += 1
      if (verbose) printEpisode(result)
      else process.stderr.write(`\r${finished} of ${requests.length}, ${((performance.now() - started) / 60_000).toFixed(1)} min`)
      give()
    })
    worker.on('error', (error) => {
      process.stderr.write(`\n${error.stack ?? error.message}\n`)
      process.exitCode = 1
    })
    worker.on('exit', () => {
      alive -= 1
      if (alive === 0) done()
    })
    give()
  }
  if (requests.length === 0) done()
}

function printEpisode({ seed, channels, faults, suggestions }: EpisodeResult): void {
  const onsetMs = faults[0]?.onsetMs
  const said = suggestions.map(({ section, zone, raisedMs, hours, severities, causes }) => {
    const when = onsetMs === undefined || raisedMs < onsetMs ? 'false' : `${hours[0]!.toFixed(0)} h`
    const named = causes.slice(0, 2).map((one) => `${one.cause} ${one.probability.toFixed(2)}`).join(', ')
    return `[${section}${zone ?? ''} ${when}${severities.length === 0 ? '' : ` s=${severities.map((one) => one.toFixed(2)).join('/')}`} ${named}]`
  })
  const truth = faults.map(({ cause, zone, observability, oracle }) => `${cause}${zone === undefined ? '' : ` zone ${zone}`} (${observability}, oracle ${oracle?.hours === undefined ? 'never' : `${oracle.hours.toFixed(0)} h by ${oracle.feature}`})`)
  console.log(`${channels} ${seed} ${truth.join(' and ') || 'healthy'}: ${said.join(' ') || '-'}`)
}

function printPlan({ sets, requests, seeds }: Plan, file: ResultsFile, build: string, verbose: boolean): void {
  const results = requests.flatMap((request) => file.get(request) ?? [])
  process.stderr.write('\n')
  console.log(`${results.length} of ${requests.length} lines, ${seeds} (healthy +${HEALTHY_OFFSET}, pairs +${PAIR_OFFSET}), build ${build}; 95 % intervals in brackets\n`)
  console.log(scoreTable(results, sets))
  if (verbose) for (const set of sets) console.log(`\n${causeTable(results, set)}\n\n${falseTable(results, set)}`)
  console.log(`
${OBSERVABLE_BY}.
A line begins with three to four production days without a fault (its benign events from the first hour on); the fault grows from 0 to 1 in 16 to 48 h of production. A production
day is 16 h of production. While a line is off its channels come once a minute. A fault that is there at once must be suggested within ${STEP_HOURS_LIMIT} h of production and has no severity when suggested.
Found means a suggestion of the right section; section, cause and calibration are judged on the first suggestion after the onset, right or wrong.
${ORACLE}; the goal grants the detector twice its delay or ${CONFIRMATION_HOURS} h of confirmation.
${YARDSTICK}.
${UNCONFIRMED}.`)
}

if (isMainThread) main()
else parentPort?.on('message', (request: EpisodeRequest) => parentPort?.postMessage(runEpisode(request)))
