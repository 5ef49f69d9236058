import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import Database from 'libsql'

/**
 * Keeps a data folder for one process. The lock is a file lock of the operating system, so it ends with the process
 * however that ends; the number beside it only makes the message useful.
 *
 * @param folder data folder, made where it is missing
 * @returns what releases the folder
 * @throws Error that names the folder and its present user if it is taken
 */
export function lockFolder(folder: string): () => void {
  mkdirSync(folder, { recursive: true })
  const holderFile = join(folder, 'store.pid')
  const database = new Database(join(folder, 'store.lock'))
  try {
    database.exec('BEGIN EXCLUSIVE')
  } catch (error) {
    database.close()
    throw new Error(`the data folder ${folder} is in use by another process (${holderOf(holderFile)}); one process per folder: stop that one or choose another folder`, { cause: error })
  }
  writeFileSync(holderFile, `${process.pid}\n`)
  return () => {
    rmSync(holderFile, { force: true })
    database.close()
  }
}

function holderOf(holderFile: string): string {
  try {
    return `process ${readFileSync(holderFile, 'utf8').trim()}`
  } catch {
    return 'process unknown'
  }
}
