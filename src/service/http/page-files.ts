import { readFileSync, readdirSync } from 'node:fs'
import { extname, join } from 'node:path'
import type { IncomingMessage, ServerResponse } from 'node:http'
import { gzipSync } from 'node:zlib'
import { send } from './problem.js'

const TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.json': 'application/json; charset=utf-8',
}

/** The built page: few small files, read once, so that a path can never reach outside its folder. */
export class PageFiles {
  private readonly files: ReadonlyMap<string, { readonly plain: Buffer; readonly gzip: Buffer }>

  /** @param folder where the build put the page; without it there is none */
  constructor(folder: string) {
    const names = listed(folder).filter((name) => Object.hasOwn(TYPES, extname(name)))
    this.files = new Map(names.map((name) => {
        const plain = readFileSync(join(folder, name))
        return [name, { plain, gzip: gzipSync(plain) }]
      }))
  }

  /** Compressed where the browser takes it: a phone on the floor has little network. @returns whether there is such a file */
  serve(name: string, request: IncomingMessage, response: ServerResponse): boolean {
    const file = this.files.get(name === '' ? 'index.html' : name)
    if (file === undefined) return false
    response.setHeader('cache-control', 'no-cache')
    response.setHeader('vary', 'accept-encoding')
    const zipped = /\bgzip\b(?!\s*;\s*q=0(\.0*)?\s*(,|$))/.test(String(request.headers['accept-encoding'] ?? ''))
    if (zipped) response.setHeader('content-encoding', 'gzip')
    send(response, 200, TYPES[extname(name === '' ? 'index.html' : name)] ?? 'application/octet-stream', zipped ? file.gzip : file.plain)
    return true
  }
}

function listed(folder: string): string[] {
  try {
    return readdirSync(folder)
  } catch {
    return []
  }
}
