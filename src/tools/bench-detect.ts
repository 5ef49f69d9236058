// Judges the detector on simulated lines: many seeds, parameters drawn anew for each, in as many workers as there are cores.
//   node dist/src/tools/bench-detect.js [--channels minimum] [--first-seed 1] [--episodes 60] [--healthy 20] [--days 12] [--cause dirty-chain] [--verbose]
// Thresholds are set on tuning seeds (below 100,000) and reported on reporting seeds (100,000 and above).
import { availableParallelism } from 'node:os'
import { parseArgs } from 'node:util'
import { isMainThread, parentPort, Worker } from 'node:worker_threads'
import { fileURLToPath } from 'node:url'
import type { SimulatedFault } from '../simulator/simulation-causes.js'
import { scoreDetections, type DetectionScore, type EpisodeResult } from './detect/detection-score.js'
import { runEpisode, type EpisodeRequest } from './detect/run-episode.js'

function main(): void {
  const { values } = parseArgs({
    options: {
      channels: { type: 'string', default: 'minimum' },
      'first-seed': { type: 'string', default: '1' },
      episodes: { type: 'string', default: '60' },
      healthy: { type: 'string', default: '20' },
      days: { type: 'string', default: '12' },
      cause: { type: 'string' },
      verbose: { type: 'boolean', default: false },
    },
  })
  const firstSeed = Number(values['first-seed'])
  const days = Number(values.days)
  const channels = values.channels as 'minimum' | 'minimum+' | 'rich'
  const cause = values.cause === undefined ? {} : { cause: values.cause as SimulatedFault }
  const requests: EpisodeRequest[] = [
    ...Array.from({ length: Number(values.episodes) }, (_, index) => ({ seed: firstSeed + index, kind: 'fault' as const, channels, days, ...cause })),
    ...Array.from({ length: Number(values.healthy) }, (_, index) => ({ seed: firstSeed + 50_000 + index, kind: 'healthy' as const, channels, days })),
  ]
  runAll(requests, values.verbose, (results) => {
    const invisible = new Set(results.filter((result) => result.cause !== '' && !result.observable).map((result) => result.cause))
    printScore(channels, scoreDetections(results, invisible))
  })
}

function runAll(requests: readonly EpisodeRequest[], verbose: boolean, done: (results: EpisodeResult[]) => void): void {
  const results: EpisodeResult[] = []
  let next = 0
  let alive = 0
  const file = fileURLToPath(import.meta.url)
  for (let count = 0; count < Math.min(availableParallelism(), requests.length); count += 1) {
    alive += 1
    const worker = new Worker(file)
    const give = (): void => {
      const request = requests[next]
      next += 1
      if (request === undefined) void worker.terminate()
      else worker.postMessage(request)
    }
    worker.on('message', (result: EpisodeResult) => {
      results.push(result)
      if (verbose) printEpisode(result)
      else process.stderr.write(`\r${results.length} of ${requests.length}`)
      give()
    })
    worker.on('error', (error) => {
      process.stderr.write(`\n${error.stack ?? error.message}\n`)
      process.exitCode = 1
    })
    worker.on('exit', () => {
      alive -= 1
      if (alive === 0) done(results)
    })
    give()
  }
}

function printEpisode(result: EpisodeResult): void {
  const said = result.suggestions.map((suggestion) => {
    const hours = result.cause === '' ? '' : ` ${((suggestion.raisedMs - result.onsetMs) / 3_600_000).toFixed(0)} h`
    const causes = suggestion.causes.slice(0, 2).map((one) => `${one.cause} ${one.probability.toFixed(2)}`).join(', ')
    return `[${suggestion.section}${suggestion.zone ?? ''}${hours} s=${suggestion.severity.toFixed(2)} ${causes}]`
  })
  console.log(`${result.seed} ${result.cause === '' ? 'healthy' : `${result.cause}${result.zone === undefined ? '' : ` zone ${result.zone}`}${result.observable ? '' : ' (invisible)'}`}: ${said.join(' ') || '-'}`)
}

function printScore(channels: string, score: DetectionScore): void {
  const percent = (share: number): string => `${(100 * share).toFixed(1)} %`
  const rows: [string, string][] = [
    ['channel set', channels],
    ['fault episodes', String(score.episodes)],
    ['healthy production days', score.healthyDays.toFixed(0)],
    ['false suggestions', `${score.falseSuggestions}, ${score.falsePer100Days.toFixed(2)} per 100 production days`],
    ['observable faults suggested before severity 0.8', `${percent(score.detectedShare)} of ${score.observableEpisodes}`],
    ['median severity when suggested', score.medianSeverity.toFixed(2)],
    ['section right, first place', percent(score.sectionRight)],
    ['cause or its group right, first / first two', `${percent(score.causeFirst)} / ${percent(score.causeFirstTwo)}`],
    ['expected calibration error', score.calibrationError.toFixed(3)],
    ['invisible faults claimed with p >= 0.5', String(score.invisibleClaimed)],
    ...Object.entries(score.byCause).map(([cause, own]): [string, string] => [`  ${cause}`, `${own.detected} of ${own.episodes} suggested, ${own.first} right, severity ${own.severity.toFixed(2)}`]),
  ]
  const width = Math.max(...rows.map(([name]) => name.length))
  process.stderr.write('\n')
  for (const [name, value] of rows) console.log(`${name.padEnd(width)}  ${value}`)
}

if (isMainThread) main()
else parentPort?.on('message', (request: EpisodeRequest) => parentPort?.postMessage(runEpisode(request)))
