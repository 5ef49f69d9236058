import { readFileSync, readdirSync } from 'node:fs'
import { extname, join } from 'node:path'
import type { ServerResponse } from 'node:http'
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
  private readonly files: ReadonlyMap<string, Buffer>

  /** @param folder where the build put the page; without it there is none */
  constructor(folder: string) {
    const names = listed(folder).filter((name) => Object.hasOwn(TYPES, extname(name)))
    this.files = new Map(names.map((name) => [name, readFileSync(join(folder, name))]))
  }

  /** @returns whether there is such a file */
  serve(name: string, response: ServerResponse): boolean {
    const file = this.files.get(name === '' ? 'index.html' : name)
    if (file === undefined) return false
    response.setHeader('cache-control', 'no-cache')
    send(response, 200, TYPES[extname(name === '' ? 'index.html' : name)] ?? 'application/octet-stream', file)
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
