import { text, type Language } from './texts.js'

/** How far a baseline is: so many of what it needs, or, once it has them, how many values it rests on. */
export function baselineWords(language: Language, { status, n, target }: { readonly status: string; readonly n: number; readonly target: number }): string {
  const hasAll = status === 'provisional' && n >= target
  return text(language, hasAll ? 'baseline.provisional-full' : `baseline.${status}`, { n: Math.floor(n), target })
}
