import type { InLanguages } from '../catalogue-language.js'

function value(english: string, spanish: string): InLanguages<string> {
  return { 'en-US': english, es: spanish }
}

/** Names of hand-measured values beside the field they are entered in, and on their charts. */
export const VALUE_TEXTS: Readonly<Record<string, InLanguages<string>>> = {
  'weigh-dose.grams': value('Spray weight per board', 'Peso de pulverizado por placa'),
  'paper-test.left': value('Covered, left', 'Cubierto, izquierda'),
  'paper-test.middle': value('Covered, middle', 'Cubierto, centro'),
  'paper-test.right': value('Covered, right', 'Cubierto, derecha'),
  'paper-test.left-right': value('Covered, left less right', 'Cubierto, izquierda menos derecha'),
  'pressure-hold.loss': value('Pressure lost in 5 min', 'Presión perdida en 5 min'),
  'look-at-exhaust-filter.pressure': value('Filter differential pressure', 'Presión diferencial del filtro'),
  'look-at-vents.velocity-spread': value('Spread of the air velocity across the width', 'Dispersión de la velocidad del aire a lo ancho'),
  'look-at-thermocouple.depth-off': value('Thermocouple off its depth mark', 'Termopar fuera de su marca de profundidad'),
  'profile-board.topside': value('Topside at the end of preheat', 'Cara superior al final del precalentamiento'),
  'look-at-rails.pull': value('Pull at the fixed place', 'Tirón en el punto fijo'),
  'look-at-chain.stiff-links': value('Stiff links', 'Eslabones rígidos'),
  'chain-length.length': value('Measured length', 'Longitud medida'),
  'chain-length.links': value('Links measured', 'Eslabones medidos'),
  'chain-length.pitch': value('Length of a link', 'Longitud de un eslabón'),
  'gauge-fingers.bent': value('Bent or fouled fingers', 'Dedos doblados o sucios'),
  'contact-time.left': value('Contact time, left', 'Tiempo de contacto, izquierda'),
  'contact-time.right': value('Contact time, right', 'Tiempo de contacto, derecha'),
  'contact-time.difference': value('Contact time, left less right', 'Tiempo de contacto, izquierda menos derecha'),
  'compare-speed-under-load.empty': value('Time of the mark, empty', 'Tiempo de la marca, en vacío'),
  'compare-speed-under-load.loaded': value('Time of the mark, loaded', 'Tiempo de la marca, cargada'),
  'compare-speed-under-load.slip': value('Slower under load', 'Más lenta bajo carga'),
  'listen-to-bearings.warmest': value('Warmest bearing, from outside', 'Rodamiento más caliente, desde fuera'),
  'empty-loops.loops': value('Empty loops run', 'Vueltas en vacío'),
  'dip-stick.level': value('Level by dip-stick', 'Nivel con varilla'),
  'bars-added.kg': value('Bars added', 'Lingotes añadidos'),
  'dross-removed.kg': value('Dross removed', 'Escoria retirada'),
  'wave-gauge.height': value('Wave height', 'Altura de la ola'),
  'reference-probe.probe': value('Reference probe', 'Sonda de referencia'),
  'reference-probe.reading': value('Reading beside it', 'Lectura al lado'),
  'reference-probe.difference': value('Reading less reference probe', 'Lectura menos sonda de referencia'),
  'bath-analysis.copper': value('Copper', 'Cobre'),
  'bath-analysis.lead': value('Lead', 'Plomo'),
  'bath-analysis.gold': value('Gold', 'Oro'),
}

/** Why an entry was not taken, and what was found out of order; named parts are filled in. */
export const ROUND_REASON_TEXTS: Readonly<Record<string, InLanguages<string>>> = {
  'round.unknown-check': value('This line has no check "{check}".', 'Esta línea no tiene la comprobación «{check}».'),
  'round.unknown-zone': value('The check "{check}" has no zone {zone}.', 'La comprobación «{check}» no tiene zona {zone}.'),
  'round.unknown-value': value('The check "{check}" has no value "{value}".', 'La comprobación «{check}» no tiene el valor «{value}».'),
  'round.not-plausible': value('{found} {unit} cannot be: expected {from} to {to} {unit}. Look at the decimal point.', '{found} {unit} no puede ser: se espera de {from} a {to} {unit}. Revise la coma decimal.'),
  'round.value-needed': value('Enter the value you measured.', 'Introduzca el valor medido.'),
  'round.look-and-tell': value('Say what you saw: this one is not ticked without a look.', 'Diga qué ha visto: esta no se marca sin mirar.'),
  'round.not-in-order': value('Not in order.', 'No está en orden.'),
  'round.finding': value('Found heavily fouled or worn.', 'Se encontró muy sucio o gastado.'),
  'round.below': value('{name}: {measured} {unit} lies below {limit} {unit}.', '{name}: {measured} {unit} está por debajo de {limit} {unit}.'),
  'round.above': value('{name}: {measured} {unit} lies above {limit} {unit}.', '{name}: {measured} {unit} está por encima de {limit} {unit}.'),
  'round.contact-both-ways': value('Contact is both too short ({shortest} s) and too long ({longest} s) at the same recipe: the chain sticks and slips.', 'El contacto es a veces demasiado corto ({shortest} s) y a veces demasiado largo ({longest} s) con la misma receta: la cadena se pega y resbala.'),
}

/** What asks for a check besides its turn. */
export const ROUND_EVENT_TEXTS: Readonly<Record<string, InLanguages<string>>> = {
  'start-up': value('after a start', 'tras un arranque'),
  'long-stop': value('after a stop of over 30 min', 'tras una parada de más de 30 min'),
  'nozzle-refitted': value('the nozzle was refitted', 'se volvió a montar la boquilla'),
  jam: value('after a jam', 'tras un atasco'),
  'chain-refitted': value('the chain was refitted', 'se volvió a montar la cadena'),
}

export const ROUND_PERIOD_TEXTS: Readonly<Record<string, InLanguages<string>>> = {
  shift: value('every shift', 'cada turno'),
  day: value('every day', 'cada día'),
  week: value('every week', 'cada semana'),
  month: value('every month', 'cada mes'),
  event: value('when something asks for it', 'cuando algo lo pide'),
}
