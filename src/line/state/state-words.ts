import type { LineStateName } from '../feature-value.js'

/** Words machines and people use for the states; compared without case, blanks and hyphens. Common practice, no source. */
export const STATE_WORDS: Readonly<Record<LineStateName, readonly string[]>> = {
  off: ['off', 'poweroff', 'shutdown', 'switchedoff', 'night'],
  'warm-up': ['warmup', 'heatup', 'heating', 'preheating', 'startup', 'warmingup', 'heatingup'],
  settling: ['settling', 'stabilising', 'stabilizing', 'soak'],
  production: ['production', 'producing', 'run', 'running', 'auto', 'automatic', 'ready', 'on', 'execute', 'normal'],
  idle: ['idle', 'standby', 'waiting', 'wait', 'idlehot', 'hotidle', 'stopped', 'stop', 'paused', 'pause', 'break', 'hold', 'held'],
  changeover: ['changeover', 'setup', 'productchange', 'recipechange'],
  maintenance: ['maintenance', 'service', 'cleaning', 'repair', 'pm'],
  'run-in': ['runin', 'runningin'],
}

const STATE_OF = new Map<string, LineStateName>(Object.entries(STATE_WORDS).flatMap(([state, words]) => words.map((word) => [word, state as LineStateName] as const)))

/** The state a machine's own word means, or undefined for a word that is not known. */
export function stateOfWord(word: string): LineStateName | undefined {
  return STATE_OF.get(word.toLowerCase().replaceAll(/[\s_-]+/g, ''))
}
