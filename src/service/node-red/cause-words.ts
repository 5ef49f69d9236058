import { causeTitle } from '../../maintenance/wording.js'

/**
 * Name of a cause for a badge.
 *
 * @param language what the catalogue of the node says its language is; anything but "es" is read in English
 * @throws Error for a cause that has no name
 */
export function causeWords(cause: string, language: string): string {
  return causeTitle(cause, language === 'es' ? 'es' : 'en-US')
}
