import type { LineOutput } from '../monitor/line-output.js'

/**
 * Holds that an output can be kept: every number in it is finite, every text plain. JSON would turn NaN into null without a word, and a
 * point with NaN could be neither drawn nor judged again.
 *
 * @throws Error that names the output, the place in it and what was found
 */
export function checkOutput(output: LineOutput): void {
  if (output.kind === 'reading' || output.kind === 'feature') {
    if (typeof output.body.value === 'number' && !Number.isFinite(output.body.value)) throw new Error(`output "${output.kind}": value is ${output.body.value}, expected a finite number`)
    return
  }
  checkPart(output.body, output.kind)
}

function checkPart(part: unknown, place: string): void {
  if (typeof part === 'number') {
    if (!Number.isFinite(part)) throw new Error(`output "${place}" is ${part}, expected a finite number`)
    return
  }
  if (typeof part === 'string') {
    if (part.includes('\u0000')) throw new Error(`output "${place}" holds a zero character, expected a plain text`)
    return
  }
  if (typeof part !== 'object' || part === null) return
  if (Array.isArray(part)) {
    for (let index = 0; index < part.length; index += 1) checkPart(part[index], `${place}[${index}]`)
    return
  }
  for (const key in part) checkPart((part as Record<string, unknown>)[key], `${place}.${key}`)
}
