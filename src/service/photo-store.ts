import { createHash } from 'node:crypto'
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Readable } from 'node:stream'
import type { PhotoReference } from '../maintenance/suggestion.js'

/** Largest photo, bytes: a phone's own size, not a camera's. */
export const PHOTO_BYTES_MAX = 6_000_000
/** Photos of one line; who needs more moves the folder. */
const PHOTOS_MAX = 5000

const ENDINGS: Readonly<Record<PhotoReference['type'], string>> = { 'image/jpeg': 'jpg', 'image/png': 'png', 'image/webp': 'webp' }

export type PhotoOutcome = { readonly kind: 'photo'; readonly photo: PhotoReference } | { readonly kind: 'too-big' } | { readonly kind: 'not-a-photo' } | { readonly kind: 'full' }

/** Photos of a line in a folder beside its history, each under the hash of its bytes: the same one is kept once. */
export class PhotoStore {
  constructor(private readonly folder: string) {}

  /** Takes a picture as it comes; its type is told by its first bytes, whatever the sender says. */
  async take(name: string, body: Readable): Promise<PhotoOutcome> {
    const parts: Buffer[] = []
    let size = 0
    for await (const part of body as AsyncIterable<Buffer>) {
      size += part.length
      if (size > PHOTO_BYTES_MAX) return { kind: 'too-big' }
      parts.push(part)
    }
    const bytes = Buffer.concat(parts)
    const type = typeOf(bytes)
    if (type === undefined) return { kind: 'not-a-photo' }
    const sha256 = createHash('sha256').update(bytes).digest('hex')
    const path = this.pathOf(sha256, type)
    if (!existsSync(path)) {
      mkdirSync(this.folder, { recursive: true })
      if (readdirSync(this.folder).length >= PHOTOS_MAX) return { kind: 'full' }
      writeFileSync(path, bytes)
    }
    return { kind: 'photo', photo: { name, type, size, sha256 } }
  }

  /** The bytes of a photo by its hash, with their type; undefined where there is none. */
  read(sha256: string): { readonly type: PhotoReference['type']; readonly bytes: Buffer } | undefined {
    if (!/^[0-9a-f]{64}$/.test(sha256)) return undefined
    for (const type of Object.keys(ENDINGS) as PhotoReference['type'][]) {
      const path = this.pathOf(sha256, type)
      if (existsSync(path)) return { type, bytes: readFileSync(path) }
    }
    return undefined
  }

  private pathOf(sha256: string, type: PhotoReference['type']): string {
    return join(this.folder, `${sha256}.${ENDINGS[type]}`)
  }
}

/** JPEG FF D8 FF; PNG 89 50 4E 47 0D 0A 1A 0A; WebP "RIFF" … "WEBP" (their standards). */
function typeOf(bytes: Buffer): PhotoReference['type'] | undefined {
  if (bytes.subarray(0, 3).equals(Buffer.from([0xff, 0xd8, 0xff]))) return 'image/jpeg'
  if (bytes.subarray(0, 8).equals(Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]))) return 'image/png'
  if (bytes.subarray(0, 4).toString('latin1') === 'RIFF' && bytes.subarray(8, 12).toString('latin1') === 'WEBP') return 'image/webp'
  return undefined
}
