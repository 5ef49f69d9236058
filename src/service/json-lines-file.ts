import { closeSync, openSync, writeSync } from 'node:fs'

const BUFFER_CHARS = 65_536

/** Writes JSON lines with a small buffer; memory does not grow with the file. */
export class JsonLinesFile {
  private readonly descriptor: number
  private buffer = ''
  private lineCount = 0

  constructor(path: string) {
    this.descriptor = openSync(path, 'w')
  }

  get count(): number {
    return this.lineCount
  }

  write(text: string): void {
    this.lineCount += 1
    this.buffer += `${text}\n`
    if (this.buffer.length >= BUFFER_CHARS) this.flush()
  }

  close(): void {
    this.flush()
    closeSync(this.descriptor)
  }

  private flush(): void {
    const bytes = Buffer.from(this.buffer, 'utf8')
    this.buffer = ''
    let written = 0
    while (written < bytes.length) written += writeSync(this.descriptor, bytes, written)
  }
}
