import type { LineInput } from '../monitor/line-event.js'

/**
 * An input exactly as the journal will give it back, so that the live step and a later replay see the same thing.
 * JSON has no NaN, Infinity, undefined or bigint: numbers that are not finite become their names as text (and are then
 * refused as values that are no numbers), the others what JSON makes of them.
 *
 * @throws Error if the input cannot be written as JSON at all (it refers to itself)
 */
export function journalForm(input: LineInput): LineInput {
  if (input.kind === 'message') return input
  if (input.kind === 'value' && isPlain(input.value) && isPlain(input.time)) return input
  if (input.kind === 'feature' && Number.isFinite(input.value) && Number.isFinite(input.timeMs)) return input
  try {
    return JSON.parse(JSON.stringify(input, nameNumbers)) as LineInput
  } catch (error) {
    throw new Error(`input of kind "${input.kind}" cannot be journalled: ${error instanceof Error ? error.message : String(error)}`, { cause: error })
  }
}

function isPlain(value: unknown): boolean {
  return typeof value === 'string' || value === undefined || (typeof value === 'number' && Number.isFinite(value) && !Object.is(value, -0))
}

function nameNumbers(_key: string, value: unknown): unknown {
  if (typeof value === 'number' && !Number.isFinite(value)) return String(value)
  if (typeof value === 'bigint') return String(value)
  return value
}
