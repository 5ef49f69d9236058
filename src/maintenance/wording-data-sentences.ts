import type { Section } from '../line/feature-value.js'
import type { InLanguages } from './catalogue-language.js'
import type { DECLINE_REASONS, PUT_OFF_REASONS } from './suggestion-replies.js'

/** Sentences around the facts; `{…}` are filled in. */
export const SENTENCES = {
  'headline.likely': { 'en-US': '{place}: most likely {cause} ({words})', es: '{place}: lo más probable, {cause} ({words})' },
  'headline.possible': { 'en-US': '{place}: possible {cause} ({words}), check first', es: '{place}: posible {cause} ({words}), compruebe antes' },
  'headline.cannot-tell': { 'en-US': '{place}: something changed, cannot tell yet what. First to check: {cause} ({words})', es: '{place}: algo ha cambiado, aún no se puede decir qué. Lo primero a comprobar: {cause} ({words})' },
  'headline.unknown': { 'en-US': '{place}: something changed that none of the known causes explains. Look at the section', es: '{place}: ha cambiado algo que ninguna causa conocida explica. Revise la sección' },
  'evidence.above': { 'en-US': '{name} is above its usual level', es: '{name} está por encima de lo habitual' },
  'evidence.below': { 'en-US': '{name} is below its usual level', es: '{name} está por debajo de lo habitual' },
  'evidence.windows': { 'en-US': '{sentence} ({amount}, seen in {windows} windows)', es: '{sentence} ({amount}, visto en {windows} ventanas)' },
  'evidence.window': { 'en-US': '{sentence} ({amount})', es: '{sentence} ({amount})' },
  'evidence.plain': { 'en-US': '{sentence}', es: '{sentence}' },
  'evidence.quiet': { 'en-US': 'As usual: {name}', es: 'Como siempre: {name}' },
  'evidence.better': { 'en-US': 'Changed for the better: {name}', es: 'Ha cambiado a mejor: {name}' },
  'evidence.neighbours-quiet': { 'en-US': 'The other zones are unchanged', es: 'Las otras zonas no han cambiado' },
  'evidence.all-zones': { 'en-US': 'All zones moved together: that points to air, load or supply, not to residue in one zone', es: 'Todas las zonas se movieron juntas: apunta a aire, carga o alimentación, no a residuo en una zona' },
  'evidence.found-before': { 'en-US': 'Earlier suggestions of this cause on this line: {confirmed} confirmed, {other} turned out to be something else, {nothing} with nothing found', es: 'Sugerencias anteriores de esta causa en esta línea: {confirmed} confirmadas, {other} resultaron ser otra cosa, {nothing} sin encontrar nada' },
  'evidence.loop.effort-up-result-same': { 'en-US': 'Effort up, result same: the control makes up for something; one loop alone cannot tell whether power, heat loss or the sensor', es: 'Más esfuerzo, mismo resultado: la regulación compensa algo; un solo lazo no puede decir si potencia, pérdida de calor o sensor' },
  'evidence.loop.effort-down-result-same': { 'en-US': 'Effort down, result same: less load, blocked flow or a sensor that reads high; one loop alone cannot tell which', es: 'Menos esfuerzo, mismo resultado: menos carga, flujo obstruido o un sensor que marca de más; un solo lazo no puede decir cuál' },
  'evidence.loop.capacity-exhausted': { 'en-US': 'The heater is at its stop and the temperature off: nothing is left to make up for it', es: 'La resistencia está al tope y la temperatura fuera: no queda con qué compensar' },
  'evidence.loop.common-cause': { 'en-US': 'The effort of the neighbours moved too: that points to air, supply or the room', es: 'El esfuerzo de las vecinas también se movió: apunta a aire, alimentación o ambiente' },
  'evidence.no-channel': { 'en-US': 'No sensor sees this: {name}', es: 'Ningún sensor lo ve: {name}' },
  'evidence.learning': { 'en-US': 'Not learned yet: {name}', es: 'Aún sin aprender: {name}' },
  'channel.would-tell': { 'en-US': 'To tell the causes apart this would help most: {channel}', es: 'Para distinguir las causas ayudaría más: {channel}' },
  'invisible': {
    'en-US': 'No sensor on this line can show the state of {places}. Absence of an alarm is not evidence that they are clean. Use the interval plan and the checklist.',
    es: 'Ningún sensor de esta línea puede mostrar el estado de {places}. La ausencia de alarma no prueba que estén limpios. Use el plan de intervalos y la lista de comprobación.',
  },
  'invisible.none': { 'en-US': 'Every fault of the table can show in some sensor of this line. That is no promise that it shows early: keep the interval plan.', es: 'Todo fallo de la tabla puede mostrarse en algún sensor de esta línea. Eso no promete que se muestre pronto: mantenga el plan de intervalos.' },
  'by-when.urgent': { 'en-US': 'Now: check before the next board', es: 'Ahora: compruebe antes de la siguiente placa' },
  'by-when.soon': { 'en-US': 'Check within this shift, do the work by {date}', es: 'Compruebe en este turno, haga el trabajo antes de {date}' },
  'by-when.plan': { 'en-US': 'Not urgent: at the next planned stop, by {date} at the latest', es: 'No es urgente: en la próxima parada prevista, a más tardar {date}' },
  'by-when.likely': { 'en-US': '{work}. As it moves now, it reaches its limit around {likely}, at the earliest {date}', es: '{work}. Como se mueve ahora, alcanza su límite hacia el {likely}, como pronto el {date}' },
  'by-when.too-early': { 'en-US': '{work}. It moves towards its limit; too early to say when it gets there', es: '{work}. Se acerca a su límite; aún es pronto para decir cuándo llega' },
  'place.zone': { 'en-US': 'Preheat zone {zone}', es: 'Zona {zone} del precalentador' },
  'words.few': { 'en-US': 'less than 1 in 10', es: 'menos de 1 de cada 10' },
  'words.about': { 'en-US': 'about {n} in 10', es: 'unas {n} de cada 10' },
  'words.one': { 'en-US': 'about 1 in 10', es: 'alrededor de 1 de cada 10' },
  'words.most': { 'en-US': 'more than 9 in 10', es: 'más de 9 de cada 10' },
  'list.and': { 'en-US': ' and ', es: ' y ' },
  'verify': { 'en-US': 'Verify: {text}', es: 'Compruebe: {text}' },
  'washer': { 'en-US': 'With a washing machine: {from} to {to} min.', es: 'Con lavadora: de {from} a {to} min.' },
  'neglected': { 'en-US': 'Left undone for long: {from} to {to} h.', es: 'Si lleva mucho sin hacerse: de {from} a {to} h.' },
  'half-done': { 'en-US': 'Do not start the line before this is done: {job}', es: 'No arranque la línea antes de hacer esto: {job}' },
} as const satisfies Readonly<Record<string, InLanguages<string>>>

export type SentenceKey = keyof typeof SENTENCES

export const SECTION_TITLES: Readonly<Record<Section, InLanguages<string>>> = {
  fluxer: { 'en-US': 'Fluxer', es: 'Fluxer' },
  preheat: { 'en-US': 'Preheat', es: 'Precalentador' },
  transport: { 'en-US': 'Transport', es: 'Transporte' },
  pot: { 'en-US': 'Solder pot', es: 'Crisol de soldadura' },
  line: { 'en-US': 'Line', es: 'Línea' },
}

export const PUT_OFF_TITLES: Readonly<Record<(typeof PUT_OFF_REASONS)[number], InLanguages<string>>> = {
  'no-time-now': { 'en-US': 'no time now', es: 'ahora no hay tiempo' },
  'no-people': { 'en-US': 'nobody qualified here', es: 'no hay nadie cualificado' },
  'parts-missing': { 'en-US': 'parts or cleaner missing', es: 'faltan piezas o limpiador' },
  'planned-stop-soon': { 'en-US': 'a planned stop comes soon', es: 'pronto hay una parada prevista' },
  'order-must-finish': { 'en-US': 'an order must finish first', es: 'antes debe acabar un pedido' },
  other: { 'en-US': 'other', es: 'otro' },
}

export const DECLINE_TITLES: Readonly<Record<(typeof DECLINE_REASONS)[number], InLanguages<string>>> = {
  'checked-and-clean': { 'en-US': 'checked, it is clean', es: 'comprobado, está limpio' },
  'known-cause': { 'en-US': 'the cause is known and another', es: 'la causa se conoce y es otra' },
  'sensor-wrong': { 'en-US': 'the sensor is wrong', es: 'el sensor falla' },
  'changed-on-purpose': { 'en-US': 'changed on purpose', es: 'cambiado a propósito' },
  'already-done': { 'en-US': 'already done', es: 'ya está hecho' },
  other: { 'en-US': 'other', es: 'otro' },
}
