import { existsSync, readFileSync } from 'node:fs'
import { parseLineDefinition, type LineDefinition } from '../line/line-definition.js'

/** A command or a setting was used wrongly; the text tells what was expected, and no stack helps. */
export class UsageError extends Error {
  override readonly name = 'UsageError'
}

/** Reads and checks a line definition. @throws UsageError that lists every fault with its path */
export function readDefinitionFile(path: string): LineDefinition {
  if (!existsSync(path)) throw new UsageError(`there is no file "${path}"`)
  return parseDefinitionText(readFileSync(path, 'utf8'), path)
}

/** Checks the JSON text of a line definition. @param where named in the faults */
export function parseDefinitionText(text: string, where: string): LineDefinition {
  let value: unknown
  try {
    value = JSON.parse(text)
  } catch (error) {
    throw new UsageError(`${where} is not JSON: ${error instanceof Error ? error.message : String(error)}`)
  }
  const result = parseLineDefinition(value)
  if (result.kind === 'definition') return result.definition
  throw new UsageError(`${where} is not a line definition:\n${result.faults.map((fault) => `  ${fault.path === '' ? '(whole)' : fault.path}: ${fault.message}`).join('\n')}`)
}
