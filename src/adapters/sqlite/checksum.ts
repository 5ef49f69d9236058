import { createHash } from 'node:crypto'

/**
 * Checksum of a stored body together with the place it belongs to, so that a body moved to another place fails too.
 * SQLite's own integrity check does not look at what a row says.
 */
export function bodyChecksum(place: string, body: Buffer): Buffer {
  return createHash('sha256').update(place).update('\n').update(body).digest()
}
