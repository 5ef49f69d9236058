import { createHash } from 'node:crypto'
import { appendFileSync, existsSync, mkdirSync, readdirSync, readFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import type { EpisodeResult } from './detection-score.js'
import type { EpisodeRequest } from './run-episode.js'

/** One line of the file. */
interface Entry {
  /** Fingerprint of the code the result was made with. */
  readonly build: string
  readonly key: string
  readonly result: EpisodeResult
}

/** What makes the result: the code of these folders. */
const CODE = ['spc', 'line', 'maintenance', 'monitor', 'simulator', 'tools/detect']

/** Fingerprint of the built code next to this file; two machines with the same sources and compiler have the same. */
export function buildFingerprint(): string {
  const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..')
  const hash = createHash('sha256')
  for (const folder of CODE) {
    const files = readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.js')).sort()
    for (const name of files) hash.update(name).update(readFileSync(join(root, folder, name)))
  }
  return hash.digest('hex').slice(0, 12)
}

export function keyOf({ kind, channels, seed, days, cause, secondCause, faultCount }: EpisodeRequest): string {
  return [kind, String(channels), seed, days, cause ?? '', faultCount ?? 1, secondCause ?? ''].join(' ')
}

/** Results on disk, one JSON line each, so that a long run can be stopped, continued and joined with that of another machine. */
export class ResultsFile {
  private readonly byKey = new Map<string, EpisodeResult>()
  /** Results of other builds, left alone. */
  readonly otherCount: number

  /**
   * @param paths the first is written to, all are read
   * @param build results of other builds are not mixed in
   */
  constructor(
    private readonly paths: readonly string[],
    private readonly build: string,
  ) {
    let others = 0
    for (const path of paths.filter(existsSync)) {
      for (const line of readFileSync(path, 'utf8').split('\n')) {
        const entry = entryOf(line)
        if (entry === undefined) continue
        if (entry.build === build) this.byKey.set(entry.key, entry.result)
        else others += 1
      }
    }
    this.otherCount = others
  }

  get(request: EpisodeRequest): EpisodeResult | undefined {
    return this.byKey.get(keyOf(request))
  }

  add(request: EpisodeRequest, result: EpisodeResult): void {
    const key = keyOf(request)
    this.byKey.set(key, result)
    const entry: Entry = { build: this.build, key, result }
    const path = this.paths[0]!
    mkdirSync(dirname(path), { recursive: true })
    appendFileSync(path, `${JSON.stringify(entry)}\n`)
  }
}

/** A line cut off when the run was stopped is no result. */
function entryOf(line: string): Entry | undefined {
  if (line === '') return undefined
  try {
    return JSON.parse(line) as Entry
  } catch {
    return undefined
  }
}
