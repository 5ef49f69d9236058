export interface ProgressStream {
  readonly isTTY?: boolean
  write(text: string): unknown
}

/** A bar on a terminal, redrawn at most once per per cent; a line for every tenth where the stream is no terminal. */
export class ProgressBar {
  private lastStep = -1

  constructor(
    private readonly stream: ProgressStream,
    private readonly label: string,
  ) {}

  /** @param share 0-1 @param words shown after the bar */
  show(share: number, words: string): void {
    const percent = Math.min(100, Math.max(0, Math.floor(share * 100)))
    const step = this.stream.isTTY === true ? percent : Math.floor(percent / 10)
    if (step <= this.lastStep) return
    this.lastStep = step
    if (this.stream.isTTY !== true) {
      this.stream.write(`${this.label} ${percent} % ${words}\n`)
      return
    }
    const filled = Math.round(percent / 4)
    this.stream.write(`\r${this.label} [${'='.repeat(filled)}${' '.repeat(25 - filled)}] ${percent} % ${words}   `)
  }

  done(words: string): void {
    this.show(1, words)
    if (this.stream.isTTY === true) this.stream.write('\n')
  }
}
