import type { InLanguages } from './catalogue-language.js'

/** How the size of a change is said. */
export type ChangeForm = 'log' | 'share' | 'relative' | '°C' | 's' | 'mm' | 'mm/h' | 'count' | 'none'

interface FeatureSentences {
  /** A noun phrase: "the conveyor motor current". */
  readonly name: string
  readonly up?: string
  readonly down?: string
}

export interface FeatureWords {
  readonly form: ChangeForm
  readonly words: InLanguages<FeatureSentences>
}

function words(form: ChangeForm, english: FeatureSentences, spanish: FeatureSentences): FeatureWords {
  return { form, words: { 'en-US': english, es: spanish } }
}

/** What a feature is called and what its change means to a person; `{zone}` and `{kind}` are filled in. */
export const FEATURE_WORDS: Readonly<Record<string, FeatureWords>> = {
  'preheat.zone-<n>.temperature.offset': words('°C', { name: 'the mean temperature of zone {zone}', up: 'Zone {zone} stands above its usual temperature', down: 'Zone {zone} stands below its usual temperature' }, { name: 'la temperatura media de la zona {zone}', up: 'La zona {zone} está por encima de su temperatura habitual', down: 'La zona {zone} está por debajo de su temperatura habitual' }),
  'preheat.zone-<n>.temperature.fast': words('log', { name: 'the fast movement of the zone {zone} reading', down: 'The reading of zone {zone} has lost its fast movement' }, { name: 'el movimiento rápido de la lectura de la zona {zone}', down: 'La lectura de la zona {zone} ha perdido su movimiento rápido' }),
  'preheat.zone-<n>.temperature.fast-own': words('log', { name: 'the fast movement of the zone {zone} reading beside the other zones', down: 'The reading of zone {zone} moves slower than those of the other zones, beside its own history' }, { name: 'el movimiento rápido de la lectura de la zona {zone} frente a las otras', down: 'La lectura de la zona {zone} se mueve más lenta que las de las otras zonas, frente a su propio historial' }),
  'preheat.zone-<n>.temperature.slow': words('log', { name: 'the slow swing of zone {zone}', up: 'Zone {zone} swings more than it used to' }, { name: 'la oscilación lenta de la zona {zone}', up: 'La zona {zone} oscila más que antes' }),
  'preheat.zone-<n>.temperature.slow-own': words('log', { name: 'the slow swing of zone {zone} beside the other zones', up: 'Zone {zone} swings more than the other zones, beside its own history' }, { name: 'la oscilación lenta de la zona {zone} frente a las otras', up: 'La zona {zone} oscila más que las otras zonas, frente a su propio historial' }),
  'preheat.common-movement': words('log', { name: 'the movement all zones share', up: 'All zones swing together more than they used to' }, { name: 'el movimiento común de todas las zonas', up: 'Todas las zonas oscilan juntas más que antes' }),
  'preheat.zone-<n>.warm-up-time': words('s', { name: 'the heat-up time of zone {zone}', up: 'Zone {zone} heats up slower than it used to', down: 'Zone {zone} heats up faster than it used to' }, { name: 'el tiempo de calentamiento de la zona {zone}', up: 'La zona {zone} calienta más despacio que antes', down: 'La zona {zone} calienta más deprisa que antes' }),
  'preheat.zone-<n>.warm-up-overshoot': words('°C', { name: 'the overshoot of zone {zone} after heating up', up: 'Zone {zone} overshoots more after heating up' }, { name: 'el sobrepaso de la zona {zone} tras calentar', up: 'La zona {zone} se pasa más tras calentar' }),
  'preheat.zone-<n>.step-response': words('s', { name: 'the response of zone {zone} to a set-point step', up: 'Zone {zone} follows a set-point step slower than it used to' }, { name: 'la respuesta de la zona {zone} a un cambio de consigna', up: 'La zona {zone} sigue un cambio de consigna más despacio que antes' }),
  'preheat.zone-<n>.step-overshoot': words('share', { name: 'the overshoot of zone {zone} after a set-point step', up: 'Zone {zone} overshoots a set-point step more than it used to' }, { name: 'el sobrepaso de la zona {zone} tras un cambio de consigna', up: 'La zona {zone} sobrepasa un cambio de consigna más que antes' }),
  'preheat.zone-<n>.duty.effort': words('relative', { name: 'the heating effort of zone {zone}', up: 'Zone {zone} needs more heating for the same temperature', down: 'Zone {zone} needs less heating for the same temperature' }, { name: 'el esfuerzo de calefacción de la zona {zone}', up: 'La zona {zone} necesita más calefacción para la misma temperatura', down: 'La zona {zone} necesita menos calefacción para la misma temperatura' }),
  'preheat.zone-<n>.duty.effort-own': words('relative', { name: 'the heating effort of zone {zone} beside the other zones', up: 'Zone {zone} needs more heating than the other zones would have it', down: 'Zone {zone} needs less heating than the other zones would have it' }, { name: 'el esfuerzo de calefacción de la zona {zone} frente a las otras', up: 'La zona {zone} necesita más calefacción de la que corresponde según las otras zonas', down: 'La zona {zone} necesita menos calefacción de la que corresponde según las otras zonas' }),
  'preheat.zone-<n>.duty.spread': words('log', { name: 'the swing of the heater duty in zone {zone}', up: 'The heater of zone {zone} swings more than it used to' }, { name: 'la oscilación de la potencia en la zona {zone}', up: 'La calefacción de la zona {zone} oscila más que antes' }),
  'preheat.zone-<n>.blower-current.mean': words('relative', { name: 'the blower current of zone {zone}' }, { name: 'la corriente del ventilador de la zona {zone}' }),
  'preheat.zone-<n>.blower-current.spread': words('log', { name: 'the unrest of the blower current in zone {zone}', up: 'The blower of zone {zone} runs rougher than it used to' }, { name: 'la inquietud de la corriente del ventilador de la zona {zone}', up: 'El ventilador de la zona {zone} gira más áspero que antes' }),
  'conveyor.speed.offset': words('share', { name: 'the mean conveyor speed', down: 'The conveyor runs slower than its set-point, beside its own history' }, { name: 'la velocidad media del transportador', down: 'El transportador va más lento que su consigna, frente a su propio historial' }),
  'conveyor.speed.spread': words('log', { name: 'the evenness of the conveyor speed', up: 'The conveyor runs less evenly than it used to' }, { name: 'la regularidad del transportador', up: 'El transportador va menos regular que antes' }),
  'conveyor.speed-sd.spread': words('log', { name: 'the unrest of the conveyor within a second', up: 'The conveyor jerks more within a second than it used to' }, { name: 'la inquietud del transportador dentro de un segundo', up: 'El transportador da más tirones dentro de un segundo que antes' }),
  'conveyor.speed-range.spread': words('log', { name: 'the range of the conveyor speed within a second', up: 'The conveyor speed ranges wider within a second than it used to' }, { name: 'el margen de velocidad dentro de un segundo', up: 'La velocidad del transportador varía más dentro de un segundo que antes' }),
  'conveyor.speed.cold-jumps': words('count', { name: 'the jumps of the cold conveyor', up: 'After a long stop the conveyor jumps more often than it used to' }, { name: 'los saltos del transportador frío', up: 'Tras una parada larga el transportador salta más a menudo que antes' }),
  'conveyor.speed.jumps': words('count', { name: 'the jumps of the conveyor', up: 'The conveyor jumps more often than it used to' }, { name: 'los saltos del transportador', up: 'El transportador salta más a menudo que antes' }),
  'conveyor.speed.turn-line': words('log', { name: 'the change of speed once per sprocket turn', up: 'The speed changes once per sprocket turn' }, { name: 'el cambio de velocidad una vez por vuelta de piñón', up: 'La velocidad cambia una vez por vuelta de piñón' }),
  'conveyor.speed.tooth-line': words('log', { name: 'the change of speed once per tooth', up: 'The speed changes once per sprocket tooth' }, { name: 'el cambio de velocidad una vez por diente', up: 'La velocidad cambia una vez por diente del piñón' }),
  'conveyor.speed.loop-line': words('log', { name: 'the change of speed once per chain loop', up: 'The speed change repeats once per chain loop: look for a dirty or stiff link' }, { name: 'el cambio de velocidad una vez por vuelta de cadena', up: 'El cambio de velocidad se repite una vez por vuelta de cadena: busque un eslabón sucio o rígido' }),
  'conveyor.speed.finger-line': words('log', { name: 'the change of speed at every finger', up: 'The speed changes as each finger passes: look for a place on the rails' }, { name: 'el cambio de velocidad a cada dedo', up: 'La velocidad cambia al pasar cada dedo: busque un punto en los carriles' }),
  'conveyor.current.warm': words('relative', { name: 'the conveyor motor current when warm', up: 'The conveyor motor draws more current than it used to' }, { name: 'la corriente del motor en caliente', up: 'El motor del transportador toma más corriente que antes' }),
  'conveyor.current.cold': words('relative', { name: 'the conveyor motor current after a stop', up: 'The conveyor motor draws more current after a stop than it used to' }, { name: 'la corriente del motor tras una parada', up: 'El motor del transportador toma más corriente tras una parada que antes' }),
  'conveyor.current.spread': words('log', { name: 'the unrest of the motor current', up: 'The motor current is less even than it used to be' }, { name: 'la inquietud de la corriente del motor', up: 'La corriente del motor es menos regular que antes' }),
  'pot.level.offset': words('mm', { name: 'the solder level', up: 'The solder level reads above its normal band', down: 'The solder level is below its usual place' }, { name: 'el nivel de soldadura', up: 'El nivel de soldadura marca por encima de lo habitual', down: 'El nivel de soldadura está por debajo de lo habitual' }),
  'pot.level.slope': words('mm/h', { name: 'the fall of the solder level', down: 'The solder level falls faster than it used to: check dross' }, { name: 'la bajada del nivel de soldadura', down: 'El nivel de soldadura baja más deprisa que antes: revise la escoria' }),
  'pot.temperature.offset': words('°C', { name: 'the mean pot temperature' }, { name: 'la temperatura media del crisol' }),
  'pot.temperature.spread': words('log', { name: 'the swing of the pot temperature', up: 'The pot temperature swings more than it used to' }, { name: 'la oscilación de la temperatura del crisol', up: 'La temperatura del crisol oscila más que antes' }),
  'pot.duty.effort': words('relative', { name: 'the heating effort of the pot, brought to the usual recipe', up: 'The pot needs more heating for the same temperature', down: 'The pot needs less heating for the same temperature' }, { name: 'el esfuerzo de calefacción del crisol, llevado a la receta habitual', up: 'El crisol necesita más calefacción para la misma temperatura', down: 'El crisol necesita menos calefacción para la misma temperatura' }),
  'pot.wave.height-for-speed': words('mm', { name: 'the wave height at the same pump speed', down: 'The wave is lower at the same pump speed' }, { name: 'la altura de ola a la misma velocidad de bomba', down: 'La ola es más baja a la misma velocidad de bomba' }),
  'pot.wave.speed-for-height': words('share', { name: 'the pump speed for the same wave', up: 'The pump must run faster for the same wave' }, { name: 'la velocidad de bomba para la misma ola', up: 'La bomba debe girar más deprisa para la misma ola' }),
  'pot.wave-height.spread': words('log', { name: 'the unrest of the wave', up: 'The wave is less even than it used to be' }, { name: 'la inquietud de la ola', up: 'La ola es menos regular que antes' }),
  'fluxer.flow.mean': words('relative', { name: 'the flux flow' }, { name: 'el caudal de flux' }),
  'fluxer.flow.spread': words('log', { name: 'the unrest of the flux flow', up: 'The flux flow sputters more than it used to' }, { name: 'la inquietud del caudal de flux', up: 'El caudal de flux escupe más que antes' }),
  'fluxer.flow-for-pressure': words('relative', { name: 'the flux flow at the same pressure', down: 'Less flux flows at the same pressure' }, { name: 'el caudal de flux a la misma presión', down: 'Pasa menos flux a la misma presión' }),
  'fluxer.pressure.mean': words('relative', { name: 'the flux pressure' }, { name: 'la presión de flux' }),
  'fluxer.pressure.spread': words('log', { name: 'the unrest of the flux pressure', up: 'The flux pressure is less even than it used to be' }, { name: 'la inquietud de la presión de flux', up: 'La presión de flux es menos regular que antes' }),
  'fluxer.pressure.hold': words('log', { name: 'how long the flux pressure holds with the spray off', down: 'The flux pressure no longer holds with the spray off' }, { name: 'cuánto se mantiene la presión sin pulverizar', down: 'La presión de flux ya no se mantiene sin pulverizar' }),
  'fluxer.flow.stroke-line': words('log', { name: 'the change of flow with the stroke', up: 'The flux flow changes with every stroke' }, { name: 'el cambio de caudal con la carrera', up: 'El caudal de flux cambia con cada carrera' }),
  'fluxer.flux-per-board': words('relative', { name: 'the flux per board' }, { name: 'el flux por placa' }),
  'board.topside-temperature.mean': words('°C', { name: 'the board temperature at the end of preheat, brought to the usual recipe, room and draw of air', down: 'Boards leave the preheat cooler than they used to', up: 'Boards leave the preheat hotter than they used to' }, { name: 'la temperatura de placa al final del precalentamiento, llevada a la receta, el ambiente y la extracción habituales', down: 'Las placas salen del precalentamiento más frías que antes', up: 'Las placas salen del precalentamiento más calientes que antes' }),
  'board.topside-temperature.spread': words('log', { name: 'the spread of board temperatures', up: 'Board temperatures differ more from board to board' }, { name: 'la dispersión de temperaturas de placa', up: 'Las temperaturas varían más de placa a placa' }),
  'board.defects.<kind>.count': words('count', { name: 'defects of the kind "{kind}" in 50 boards of the usual mix', up: 'Defects of the kind "{kind}" have become more' }, { name: 'los defectos del tipo «{kind}» en 50 placas de la mezcla habitual', up: 'Han aumentado los defectos del tipo «{kind}»' }),
  'exhaust.pressure.mean': words('relative', { name: 'the exhaust pressure' }, { name: 'la presión de extracción' }),
  'ambient.temperature.mean': words('°C', { name: 'the ambient temperature' }, { name: 'la temperatura ambiente' }),
}
