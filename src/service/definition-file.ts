import { readFileSync, statSync } from 'node:fs'
import { dirname, resolve } from 'node:path'
import { parseLineDefinition, type DefinitionResult, type LineDefinition } from '../line/line-definition.js'
import { roundsFaults } from '../maintenance/rounds/round-faults.js'
import { siteWorkFaults } from '../maintenance/site-catalogue.js'
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
  return parseDefinitionText(readFileSync(path, 'utf8'), path, dirname(resolve(path)))
}

/**
 * Checks the JSON text of a line definition.
 * @param where named in the faults
 * @param folder where the file of the site's own work lies, if the definition names one
 */
export function parseDefinitionText(text: string, where: string, folder?: string): LineDefinition {
  const read = parseJsonText(text)
  if (read.kind === 'fault') throw new UsageError(`${where}, line ${read.fault.line}, column ${read.fault.column} is not JSON: ${read.fault.message}`)
  const result = checkDefinition(read.value, folder)
  if (result.kind === 'definition') return result.definition
  throw new UsageError(`${where} is not a line definition:\n${result.faults.map((fault) => `  ${fault.path === '' ? '(whole)' : fault.path}: ${fault.message}`).join('\n')}`)
}

/**
 * Checks a line definition with the site's own part of the work catalogue, which may stand in a JSON file beside it.
 * @param folder where such a file lies; without it a named file is a fault
 */
export function checkDefinition(input: unknown, folder?: string): DefinitionResult {
  const whole = withSiteWorkFile(input, folder)
  if ('faults' in whole) return { kind: 'faults', faults: whole.faults }
  const result = parseLineDefinition(whole.input)
  if (result.kind === 'faults') return result
  const faults = [...siteWorkFaults(result.definition), ...roundsFaults(result.definition)]
  return faults.length > 0 ? { kind: 'faults', faults } : result
}

type Faults = Extract<DefinitionResult, { kind: 'faults' }>['faults']

function withSiteWorkFile(input: unknown, folder: string | undefined): { readonly input: unknown } | { readonly faults: Faults } {
  if (typeof input !== 'object' || input === null || !('siteWork' in input) || typeof input.siteWork !== 'string') return { input }
  const fault = (message: string): { readonly faults: Faults } => ({ faults: [{ path: 'siteWork', message }] })
  if (folder === undefined) return fault(`file "${input.siteWork}": a definition that is no file holds the site's work itself`)
  const path = resolve(folder, input.siteWork)
  if (statSync(path, { throwIfNoEntry: false })?.isFile() !== true) return fault(`there is no file "${path}"`)
  const read = parseJsonText(readFileSync(path, 'utf8'))
  if (read.kind === 'fault') return fault(`file "${path}", line ${read.fault.line}, column ${read.fault.column} is not JSON: ${read.fault.message}`)
  return { input: { ...input, siteWork: read.value } }
}
