import { existsSync, readFileSync } from 'node:fs'

const HEADER_BYTES = 32
const FRAME_HEADER_BYTES = 24
const MAGIC_LITTLE = 0x377f0682
const MAGIC_BIG = 0x377f0683

/**
 * Looks through a write-ahead log before SQLite opens it. SQLite takes the frames up to the first that fails its
 * checksum and drops the rest without a word, and the rest may hold acknowledged commits.
 *
 * A process that was killed leaves whole frames, so it causes no finding; a loss of power in the middle of a write may.
 *
 * @param file path of the log
 * @returns what is wrong with it, or undefined
 * @see SQLite file format, section 4 (the write-ahead log)
 */
export function checkLog(file: string): string | undefined {
  if (!existsSync(file)) return undefined
  const log = readFileSync(file)
  if (log.length <= HEADER_BYTES) return undefined
  const magic = log.readUInt32BE(0)
  if (magic !== MAGIC_LITTLE && magic !== MAGIC_BIG) return 'the write-ahead log does not begin as one; all commits in it are lost'
  const isBig = magic === MAGIC_BIG
  const sum: [number, number] = [0, 0]
  addChecksum(sum, log, 0, 24, isBig)
  if (!isEqual(sum, log, 24)) return 'the header of the write-ahead log fails its checksum; all commits in it are lost'
  const frameBytes = FRAME_HEADER_BYTES + log.readUInt32BE(8)
  const frameCount = Math.floor((log.length - HEADER_BYTES) / frameBytes)
  for (let index = 0; index < frameCount; index += 1) {
    const start = HEADER_BYTES + index * frameBytes
    const isCurrent = isOfThisLog(log, start)
    if (isCurrent) {
      addChecksum(sum, log, start, 8, isBig)
      addChecksum(sum, log, start + FRAME_HEADER_BYTES, frameBytes - FRAME_HEADER_BYTES, isBig)
      if (isEqual(sum, log, start + 16)) continue
    }
    // Frames of an earlier round of the log have other salts and are no finding.
    let lastCurrent = isCurrent ? index : -1
    for (let later = index + 1; later < frameCount; later += 1) if (isOfThisLog(log, HEADER_BYTES + later * frameBytes)) lastCurrent = later
    if (lastCurrent < 0) return undefined
    return `frame ${index + 1} of the write-ahead log fails its checksum; it and the frames to ${lastCurrent + 1} are lost`
  }
  return undefined
}

function isOfThisLog(log: Buffer, frameStart: number): boolean {
  return log.readUInt32BE(frameStart + 8) === log.readUInt32BE(16) && log.readUInt32BE(frameStart + 12) === log.readUInt32BE(20)
}

function isEqual(sum: readonly [number, number], log: Buffer, at: number): boolean {
  return sum[0] === log.readUInt32BE(at) && sum[1] === log.readUInt32BE(at + 4)
}

function addChecksum(sum: [number, number], log: Buffer, start: number, length: number, isBig: boolean): void {
  let [first, second] = sum
  for (let at = start; at < start + length; at += 8) {
    first = (first + (isBig ? log.readUInt32BE(at) : log.readUInt32LE(at)) + second) >>> 0
    second = (second + (isBig ? log.readUInt32BE(at + 4) : log.readUInt32LE(at + 4)) + first) >>> 0
  }
  sum[0] = first
  sum[1] = second
}
