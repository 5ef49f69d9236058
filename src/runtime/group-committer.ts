import type { LineCommit, LineStore } from '../ports/line-store.js'

/** A line that wants to write. */
export interface CommitMember {
  readonly line: string
  /** What to write now; undefined where there is nothing. */
  takeCommit(): LineCommit | undefined
  /** The commit taken last is durable. */
  committed(lastSeq: number): void
  /** The commit taken last was not written. */
  commitFailed(error: unknown): void
}

/**
 * Writes the commits of all lines of a store together: one synchronisation of the disk for everything that came in
 * within the same few milliseconds, so that the cost does not grow with the number of lines.
 */
export class GroupCommitter {
  static readonly #ofStore = new WeakMap<LineStore, GroupCommitter>()

  readonly #store: LineStore
  readonly #members = new Set<string>()
  readonly #waiting = new Set<CommitMember>()
  #timer: NodeJS.Timeout | undefined
  #immediate: NodeJS.Immediate | undefined

  /** The one committer of a store. */
  static of(store: LineStore): GroupCommitter {
    let committer = GroupCommitter.#ofStore.get(store)
    if (committer === undefined) {
      committer = new GroupCommitter(store)
      GroupCommitter.#ofStore.set(store, committer)
    }
    return committer
  }

  private constructor(store: LineStore) {
    this.#store = store
  }

  /** @throws Error if the line runs already: two writers of one journal would number the same events twice. */
  join(line: string): void {
    if (this.#members.has(line)) throw new Error(`line "${line}" runs already on this store; close it first`)
    this.#members.add(line)
  }

  leave(member: CommitMember): void {
    this.#members.delete(member.line)
    this.#waiting.delete(member)
  }

  /** Has the member asked within `delayMs`; 0 means as soon as the event loop has turned. */
  request(member: CommitMember, delayMs: number): void {
    this.#waiting.add(member)
    if (delayMs === 0) this.#immediate ??= setImmediate(() => this.#flush())
    else this.#timer ??= setTimeout(() => this.#flush(), delayMs)
  }

  /** Writes what this member has, alone and at once; answers whether it was written. */
  commitNow(member: CommitMember): boolean {
    this.#waiting.delete(member)
    const commit = member.takeCommit()
    return commit === undefined || this.#commitAlone(member, commit)
  }

  #flush(): void {
    clearTimeout(this.#timer)
    clearImmediate(this.#immediate)
    this.#timer = undefined
    this.#immediate = undefined
    const taken: { readonly member: CommitMember; readonly commit: LineCommit }[] = []
    for (const member of this.#waiting) {
      const commit = member.takeCommit()
      if (commit !== undefined) taken.push({ member, commit })
    }
    this.#waiting.clear()
    if (taken.length === 0) return
    let answers: readonly { readonly lastSeq: number }[]
    try {
      answers = this.#store.commitAll(taken.map((entry) => entry.commit))
    } catch (error) {
      // One line's commit may be what is wrong: only its own line may suffer for it.
      if (taken.length > 1) for (const { member, commit } of taken) this.#commitAlone(member, commit)
      else taken[0]?.member.commitFailed(error)
      return
    }
    taken.forEach(({ member }, index) => member.committed(answers[index]?.lastSeq ?? 0))
  }

  #commitAlone(member: CommitMember, commit: LineCommit): boolean {
    let lastSeq: number
    try {
      lastSeq = this.#store.commit(commit).lastSeq
    } catch (error) {
      member.commitFailed(error)
      return false
    }
    member.committed(lastSeq)
    return true
  }
}
