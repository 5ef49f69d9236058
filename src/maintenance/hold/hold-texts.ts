import type { InLanguages, Language } from '../catalogue-language.js'

function words(english: string, spanish: string): InLanguages<string> {
  return { 'en-US': english, es: spanish }
}

/** Points of the list, in words. */
export const HOLD_POINT_TEXTS: Readonly<Record<string, InLanguages<string>>> = {
  nozzle: words('Flux nozzle', 'Boquilla de flux'),
  'nozzle-direction': words('Nozzle direction', 'Dirección de la boquilla'),
  seals: words('Seals and valves', 'Juntas y válvulas'),
  stroke: words('Spray stroke', 'Carrera de pulverizado'),
  hose: words('Flux hose', 'Manguera de flux'),
  filter: words('Exhaust filter', 'Filtro de extracción'),
  dose: words('Flux dose', 'Dosis de flux'),
  vents: words('Vent holes', 'Orificios de aire'),
  elements: words('Emitters and elements', 'Emisores y resistencias'),
  blowers: words('Blowers', 'Ventiladores'),
  rails: words('Rails', 'Carriles'),
  thermocouples: words('Thermocouple', 'Termopar'),
  chain: words('Chain', 'Cadena'),
  fingers: words('Fingers', 'Dedos'),
  lubrication: words('Chain lubrication', 'Lubricación de la cadena'),
  bearings: words('Bearings', 'Rodamientos'),
  motor: words('Drive motor', 'Motor de accionamiento'),
  shaft: words('Drive shaft', 'Eje motriz'),
  sprockets: words('Sprockets and chain length', 'Piñones y longitud de cadena'),
  'pot-level': words('Solder level', 'Nivel de soldadura'),
  dross: words('Dross', 'Escoria'),
  pump: words('Pump and wave', 'Bomba y ola'),
  'pot-probe': words('Pot probe', 'Sonda del crisol'),
  'pot-element': words('Pot elements', 'Resistencias del crisol'),
}

/** How a point counts as done, or what it waits for. */
export const HOLD_HOW_TEXTS: Readonly<Record<string, InLanguages<string>>> = {
  inspected: words('looked at and in order', 'mirado y en orden'),
  recorded: words('work recorded, hand check passed', 'trabajo anotado, comprobado a mano'),
  'inside-interval': words('done, still inside its learned interval', 'hecho, aún dentro de su intervalo aprendido'),
  'hand-check-missing': words('work recorded; its hand check is still missing', 'trabajo anotado; falta comprobarlo a mano'),
}

/** Why settings are on hold, or no longer. */
export const HOLD_BECAUSE_TEXTS: Readonly<Record<string, InLanguages<string>>> = {
  'hold.suggestion': words('The line was stable with these settings and varies now; a suggestion is open. Settings do not change by themselves: go through the maintenance checks first.', 'La línea era estable con estos ajustes y ahora varía; hay una sugerencia abierta. Los ajustes no cambian solos: haga primero las comprobaciones de mantenimiento.'),
  'hold.signals': words('The line was stable with these settings and varies now. Settings do not change by themselves: go through the maintenance checks first.', 'La línea era estable con estos ajustes y ahora varía. Los ajustes no cambian solos: haga primero las comprobaciones de mantenimiento.'),
  'hold.back': words('The time an engineer gave is over and the line still varies: settings are on hold again.', 'El plazo que dio un ingeniero ha terminado y la línea sigue variando: los ajustes vuelven a estar en espera.'),
  'hold.ended.gone': words('The variation is gone. No setting had to be touched for it.', 'La variación ha desaparecido. No hubo que tocar ningún ajuste.'),
  'hold.ended.checks-done': words('All checks are done and the line still varies after a shift of production. Now one change at a time, each with its reason, inside the qualified window, and a new baseline.', 'Todas las comprobaciones están hechas y la línea sigue variando tras un turno de producción. Ahora un cambio cada vez, cada uno con su motivo, dentro de la ventana cualificada, y una nueva línea base.'),
  'hold.ended.engineer': words('An engineer ended the hold for a time; it comes back if the line still varies then.', 'Un ingeniero ha levantado la espera por un tiempo; volverá si la línea aún varía entonces.'),
}

/** Why a word on the hold was not taken. */
export const HOLD_REASON_TEXTS: Readonly<Record<string, InLanguages<string>>> = {
  'hold.not-on': words('Settings are not on hold.', 'Los ajustes no están en espera.'),
  'hold.engineer-needed': words('Say which engineer decides it.', 'Diga qué ingeniero lo decide.'),
  'hold.until-needed': words('Say until when, in the future.', 'Diga hasta cuándo, en el futuro.'),
  'hold.until-too-far': words('At most 14 days.', 'Como máximo 14 días.'),
  'hold.unknown-change': words('There is no such change.', 'No existe tal cambio.'),
  'hold.recipe-needed': words('Say which recipe.', 'Diga qué receta.'),
}

/** A text by its key; the key itself where there is none. */
export function holdWords(texts: Readonly<Record<string, InLanguages<string>>>, key: string, language: Language): string {
  return Object.hasOwn(texts, key) ? texts[key]![language] : key
}
