import type { InLanguages, Language } from '../catalogue-language.js'
import type { ChangeKind } from './change-entry.js'

function words(english: string, spanish: string): InLanguages<string> {
  return { 'en-US': english, es: spanish }
}

/** Kinds of changes, as a person would say them. */
export const CHANGE_TEXTS: Readonly<Record<ChangeKind, InLanguages<string>>> = {
  'flux-lot': words('Another flux lot', 'Otro lote de flux'),
  'alloy-lot': words('Another alloy lot', 'Otro lote de aleación'),
  'lubricant-lot': words('Another lubricant or lot', 'Otro lubricante o lote'),
  'cleaner-lot': words('Another cleaner or lot', 'Otro limpiador o lote'),
  'board-lot': words('Another lot of boards', 'Otro lote de placas'),
  order: words('Another order', 'Otro pedido'),
  'spare-part': words('A spare part fitted', 'Un repuesto montado'),
  crew: words('Another crew', 'Otro equipo de personas'),
  recipe: words('Another recipe', 'Otra receta'),
  'set-point': words('A set-point changed', 'Una consigna cambiada'),
  'exhaust-work': words('Work on the exhaust', 'Trabajo en la extracción'),
  repair: words('A repair', 'Una reparación'),
  'nozzle-refitted': words('The flux nozzle was taken off and refitted', 'Se desmontó y volvió a montar la boquilla de flux'),
  'chain-refitted': words('The chain was taken off or washed', 'Se desmontó o lavó la cadena'),
  jam: words('A jam', 'Un atasco'),
  'long-stop': words('A long stop', 'Una parada larga'),
  'sensor-replaced': words('A sensor replaced', 'Un sensor sustituido'),
  'sensor-frozen': words('A sensor stands still', 'Un sensor no se mueve'),
  'top-up': words('Solder was added', 'Se añadió soldadura'),
  work: words('Maintenance work', 'Trabajo de mantenimiento'),
  'fouls-faster': words('It fouls twice as fast as its own history: look up the line too', 'Se ensucia el doble de rápido que en su propio historial: mire también aguas arriba'),
  other: words('Something else', 'Otra cosa'),
}

export function changeWords(kind: ChangeKind, language: Language): string {
  return CHANGE_TEXTS[kind][language]
}
