import type { EvidenceItem } from '../line/diagnosis.js'

export type Language = 'en-US' | 'es'

/** Evidence in words. */
export function evidenceTexts(items: readonly EvidenceItem[], _language: Language): string[] {
  return items.map((item) => `${item.stance}: ${item.feature} ${item.key} ${JSON.stringify(item.values)}`)
}
