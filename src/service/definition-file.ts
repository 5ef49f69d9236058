import { readFileSync, statSync } from 'node:fs'
import { parseLineDefinition, type LineDefinition } from '../line/line-definition.js'
import { parseJsonText } from './json-text.js'

/** A command or a setting was used wrongly; the text tells what was expected, and no stack helps. */
export class UsageError extends Error {
  override readonly name = 'UsageError'
}

/** @throws UsageError if `path` is nothing, or a folder */
export function requireFile(path: string): void {
  const found = statSync(path, { throwIfNoEntry: false })
  if (found === undefined) throw new UsageError(`there is no file "${path}"`)
  if (found.isDirectory()) throw new UsageError(`"${path}" is a folder; expected a file`)
}

/** Reads and checks a line definition. @throws UsageError that lists every fault with its path */
export function readDefinitionFile(path: string): LineDefinition {
  requireFile(path)
  return parseDefinitionText(readFileSync(path, 'utf8'), path)
}

/** Checks the JSON text of a line definition. @param where named in the faults */
export function parseDefinitionText(text: string, where: string): LineDefinition {
  const read = parseJsonText(text)
  if (read.kind === 'fault') throw new UsageError(`${where}, line ${read.fault.line}, column ${read.fault.column} is not JSON: ${read.fault.message}`)
  const result = parseLineDefinition(read.value)
  if (result.kind === 'definition') return result.definition
  throw new UsageError(`${where} is not a line definition:\n${result.faults.map((fault) => `  ${fault.path === '' ? '(whole)' : fault.path}: ${fault.message}`).join('\n')}`)
}
