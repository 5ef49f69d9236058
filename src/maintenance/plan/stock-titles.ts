import type { InLanguages } from '../catalogue-language.js'
import { STOCK_ITEMS, type StockItem } from './plan-entry.js'

/** Spare sets and parts as people call them. */
export const STOCK_TITLES: Readonly<Record<StockItem, InLanguages<string>>> = {
  'exhaust-filter-set': { 'en-US': 'exhaust filter set', es: 'juego de filtros de extracción' },
  'finger-set': { 'en-US': 'set of fingers', es: 'juego de dedos' },
  'vent-plate-set': { 'en-US': 'set of vent plates', es: 'juego de placas perforadas' },
  'chain-set': { 'en-US': 'chain', es: 'cadena' },
  'nozzle-tip': { 'en-US': 'nozzle tip', es: 'punta de boquilla' },
  'seal-kit': { 'en-US': 'seal kit', es: 'kit de juntas' },
  'flux-hose': { 'en-US': 'flux hose', es: 'manguera de flux' },
  thermocouple: { 'en-US': 'thermocouple', es: 'termopar' },
  'pot-probe': { 'en-US': 'pot probe', es: 'sonda del crisol' },
  'heating-element': { 'en-US': 'heating element', es: 'resistencia' },
  'pot-element': { 'en-US': 'pot element', es: 'resistencia del crisol' },
  bearing: { 'en-US': 'bearing', es: 'rodamiento' },
  'sprocket-set': { 'en-US': 'sprocket set', es: 'juego de piñones' },
  'solder-bars': { 'en-US': 'solder bars', es: 'lingotes de soldadura' },
  'chain-lubricant': { 'en-US': 'chain lubricant', es: 'lubricante de cadena' },
  cleaner: { 'en-US': 'cleaner', es: 'limpiador' },
}

/** The set or part that somebody noted with a record, by its id or by its name in either language; undefined for any other part. */
export function stockItemOf(noted: string): StockItem | undefined {
  const wanted = noted.trim().toLowerCase()
  return STOCK_ITEMS.find((item) => item === wanted || Object.values(STOCK_TITLES[item]).some((title) => title.toLowerCase() === wanted))
}
