/** Languages the catalogue is written in. */
export const LANGUAGES = ['en-US', 'es'] as const
export type Language = (typeof LANGUAGES)[number]

/** One text in every language of the catalogue. */
export type InLanguages<Text> = Readonly<Record<Language, Text>>

export type LanguageResult = { readonly kind: 'language'; readonly language: Language } | { readonly kind: 'unknown-language'; readonly found: string; readonly expected: readonly Language[] }

/**
 * The catalogue's language for a language tag: `en`, `en-GB` and `en-US` are `en-US`, `es`, `es-ES` and `es-MX` are `es`.
 * Any other tag is `unknown-language`: cautions are never given in a language nobody asked for.
 */
export function catalogueLanguage(tag: string): LanguageResult {
  const first = tag.trim().toLowerCase().split(/[-_]/)[0]
  if (first === 'en') return { kind: 'language', language: 'en-US' }
  if (first === 'es') return { kind: 'language', language: 'es' }
  return { kind: 'unknown-language', found: tag, expected: LANGUAGES }
}
