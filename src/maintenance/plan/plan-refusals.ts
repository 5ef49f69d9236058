import type { InLanguages, Language } from '../catalogue-language.js'
import { fill } from '../wording-format.js'

/** Why an entry about the plan, a stop or a paper was not taken. */
const REFUSAL_TEXTS: Readonly<Record<string, InLanguages<string>>> = {
  'plan.no-such-week': { 'en-US': 'There is no week {week}.', es: 'No existe la semana {week}.' },
  'plan.week-agreed': { 'en-US': 'Week {week} is agreed already; open it again first.', es: 'La semana {week} ya está acordada; reábrala antes.' },
  'plan.week-not-agreed': { 'en-US': 'Week {week} is not agreed.', es: 'La semana {week} no está acordada.' },
  'plan.reason-missing': { 'en-US': 'Say why week {week} is opened again.', es: 'Diga por qué se reabre la semana {week}.' },
  'plan.unknown-work': { 'en-US': 'The catalogue has no job "{work}".', es: 'El catálogo no tiene el trabajo «{work}».' },
  'plan.stop-without-length': { 'en-US': 'Stop {stop} ends before it begins.', es: 'La parada {stop} acaba antes de empezar.' },
  'stop.already-asked': { 'en-US': 'This stop has been asked for already ({status}).', es: 'Esta parada ya está solicitada ({status}).' },
  'stop.unknown': { 'en-US': 'There is no stop {stop}.', es: 'No hay ninguna parada {stop}.' },
  'stop.not-possible-now': { 'en-US': 'Not possible while the stop is {status}.', es: 'No es posible mientras la parada está {status}.' },
  'stop.reason-missing': { 'en-US': 'Say why the stop is refused.', es: 'Diga por qué se deniega la parada.' },
  'stop.nothing-said': { 'en-US': 'Say what followed.', es: 'Diga qué siguió.' },
  'stock.no-count': { 'en-US': 'Say how many are ready.', es: 'Diga cuántos hay disponibles.' },
  'stock.not-counted': { 'en-US': 'Count it once first: nobody has said yet how many there are.', es: 'Cuéntelo antes una vez: nadie ha dicho aún cuántos hay.' },
  'stock.not-so-many-to-washer': { 'en-US': 'Only {count} are known to be dirty; count again if there are more.', es: 'Solo constan {count} sucios; vuelva a contar si hay más.' },
  'stock.not-so-many-back-clean': { 'en-US': 'Only {count} are known to be at the washer; count again if there are more.', es: 'Solo constan {count} en la lavadora; vuelva a contar si hay más.' },
  'paper.unknown-instrument': { 'en-US': 'There is no instrument "{instrument}"; expected one of {expected}.', es: 'No hay ningún instrumento «{instrument}»; se esperaba uno de {expected}.' },
  'paper.due-before-valid': { 'en-US': 'The paper for {of} would be due before it is in force.', es: 'El documento de {of} vencería antes de entrar en vigor.' },
}

/** A refusal of the plan's part in words; undefined for one that is not its own. */
export function planRefusalText(reason: string, values: Readonly<Record<string, number | string>>, language: Language): string | undefined {
  if (!Object.hasOwn(REFUSAL_TEXTS, reason)) return undefined
  return fill(REFUSAL_TEXTS[reason]![language], Object.fromEntries(Object.entries(values).map(([name, value]) => [name, String(value)])))
}
