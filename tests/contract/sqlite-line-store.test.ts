import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll } from 'vitest'
import { openSqliteLineStore } from '../../src/adapters/sqlite/sqlite-line-store.js'
import { describeLineStore } from './line-store.contract.js'

const folders: string[] = []

afterAll(() => {
  for (const folder of folders) rmSync(folder, { recursive: true, force: true })
})

describeLineStore('the SQLite store', () => {
  const folder = mkdtempSync(join(tmpdir(), 'line-store-'))
  folders.push(folder)
  return openSqliteLineStore({ folder })
})
