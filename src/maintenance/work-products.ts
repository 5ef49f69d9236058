import type { InLanguages } from './catalogue-language.js'

/** Kinds of cleaners, lubricants and alloys; never brands. A site names its own products and their class. */
export const PRODUCT_CLASSES = [
  'aqueous-cleaner',
  'engineered-cleaner',
  'flux-remover',
  'isopropyl-alcohol',
  'ester-or-pao-oil',
  'perfluorinated-grease',
  'dry-film-graphite',
  'dry-film-mos2',
  'dry-film-ptfe',
  'mineral-grease',
  'silicone-lubricant',
  'same-certified-alloy',
] as const
export type ProductClass = (typeof PRODUCT_CLASSES)[number]

/** What is known of a class of products before the safety data sheet of the product in hand. */
export interface ProductFacts {
  readonly kind: 'cleaner' | 'lubricant' | 'alloy'
  /** °C; `none` for one that does not burn, `data-sheet` where only the product's own sheet can say. */
  readonly flashPointC: number | 'none' | 'data-sheet'
  readonly siliconeFree: boolean
  /** Hottest place of the chain it stands for long, °C; absent where it does not matter. */
  readonly continuousC?: number
  /** Why it is approved for no job here. */
  readonly never?: 'gums-up' | 'silicone'
}

/**
 * [S3, NIOSH Pocket Guide] flash point of isopropyl alcohol 53 °F = 12 °C. [S2] ordinary oil only at normal temperature,
 * solid films above 160 °C; [CP] continuous >= 180 °C for a chain past preheat and pot, PTFE not above 260 °C, mineral
 * grease turns sticky above 100-120 °C. Perfluorinated grease: 220 °C [MEM].
 */
export const PRODUCT_FACTS: Readonly<Record<ProductClass, ProductFacts>> = {
  'aqueous-cleaner': { kind: 'cleaner', flashPointC: 'none', siliconeFree: true },
  'engineered-cleaner': { kind: 'cleaner', flashPointC: 'data-sheet', siliconeFree: true },
  'flux-remover': { kind: 'cleaner', flashPointC: 'data-sheet', siliconeFree: true },
  'isopropyl-alcohol': { kind: 'cleaner', flashPointC: 12, siliconeFree: true },
  'ester-or-pao-oil': { kind: 'lubricant', flashPointC: 'data-sheet', siliconeFree: true, continuousC: 180 },
  'perfluorinated-grease': { kind: 'lubricant', flashPointC: 'none', siliconeFree: true, continuousC: 220 },
  'dry-film-graphite': { kind: 'lubricant', flashPointC: 'none', siliconeFree: true, continuousC: 260 },
  'dry-film-mos2': { kind: 'lubricant', flashPointC: 'none', siliconeFree: true, continuousC: 260 },
  'dry-film-ptfe': { kind: 'lubricant', flashPointC: 'none', siliconeFree: true, continuousC: 260 },
  'mineral-grease': { kind: 'lubricant', flashPointC: 'data-sheet', siliconeFree: true, continuousC: 100, never: 'gums-up' },
  'silicone-lubricant': { kind: 'lubricant', flashPointC: 'data-sheet', siliconeFree: false, never: 'silicone' },
  'same-certified-alloy': { kind: 'alloy', flashPointC: 'none', siliconeFree: true },
}

export const PRODUCT_TITLES: Readonly<Record<ProductClass, InLanguages<string>>> = {
  'aqueous-cleaner': { 'en-US': 'water-based cleaner', es: 'limpiador de base acuosa' },
  'engineered-cleaner': { 'en-US': 'cleaner made for baked flux, high flash point', es: 'limpiador para flux horneado, punto de inflamación alto' },
  'flux-remover': { 'en-US': 'solvent flux remover', es: 'quitaflux disolvente' },
  'isopropyl-alcohol': { 'en-US': 'isopropyl alcohol (discouraged)', es: 'alcohol isopropílico (desaconsejado)' },
  'ester-or-pao-oil': { 'en-US': 'synthetic ester or polyalphaolefin oil, silicone-free', es: 'aceite de éster sintético o polialfaolefina, sin silicona' },
  'perfluorinated-grease': { 'en-US': 'perfluorinated grease', es: 'grasa perfluorada' },
  'dry-film-graphite': { 'en-US': 'dry film with graphite', es: 'película seca con grafito' },
  'dry-film-mos2': { 'en-US': 'dry film with molybdenum disulfide', es: 'película seca con disulfuro de molibdeno' },
  'dry-film-ptfe': { 'en-US': 'dry film with PTFE, never above 260 °C', es: 'película seca con PTFE, nunca por encima de 260 °C' },
  'mineral-grease': { 'en-US': 'mineral multi-purpose grease (turns sticky with heat)', es: 'grasa mineral multiuso (se vuelve pegajosa con el calor)' },
  'silicone-lubricant': { 'en-US': 'lubricant with silicone (harms soldering and coating)', es: 'lubricante con silicona (perjudica soldadura y recubrimiento)' },
  'same-certified-alloy': { 'en-US': 'the same certified alloy', es: 'la misma aleación certificada' },
}

/** A cleaner may be used when its flash point lies at least so far above the hottest surface within reach, K. [ASM rule; local code first] */
export const FLASH_MARGIN_K = 15

/** What the flash-point gate says. */
export type FlashGate =
  | { readonly kind: 'released' }
  | { readonly kind: 'surface-not-measured' }
  | { readonly kind: 'flash-point-unknown' }
  | { readonly kind: 'too-hot'; readonly flashPointC: number; readonly surfaceC: number; readonly coolToC: number }

/**
 * Whether a product with this flash point may be used on surfaces this hot. Only a surface measured by hand counts: a
 * zone's reading says nothing of the hottest part within reach.
 *
 * @param flashPointC of the product, °C, or what is known of it
 * @param surfaceC hottest surface within reach, measured by hand, °C
 */
export function flashGate(flashPointC: ProductFacts['flashPointC'], surfaceC: number | undefined): FlashGate {
  if (flashPointC === 'none') return { kind: 'released' }
  if (flashPointC === 'data-sheet') return { kind: 'flash-point-unknown' }
  if (surfaceC === undefined || !Number.isFinite(surfaceC)) return { kind: 'surface-not-measured' }
  const coolToC = flashPointC - FLASH_MARGIN_K
  return flashPointC < surfaceC + FLASH_MARGIN_K ? { kind: 'too-hot', flashPointC, surfaceC, coolToC } : { kind: 'released' }
}
