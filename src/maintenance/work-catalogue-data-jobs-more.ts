import type { InLanguages } from './catalogue-language.js'
import type { JobText } from './work-catalogue-data-jobs-en-us.js'

/** Jobs that follow others, answer an event or cannot wait; [CP] throughout. */
export const MORE_JOB_TEXTS: Readonly<Record<string, InLanguages<JobText>>> = {
  'purge-nozzle': {
    'en-US': { title: 'Purge the flux nozzle', steps: ['Purge into a closed container until the spray is even.', 'Look at the tip: a crust that stays wants cleaning.'], tools: ['closed container', 'test paper'], verification: 'Paper test even at the first board.' },
    es: { title: 'Purgar la boquilla de flux', steps: ['Purgue en un recipiente cerrado hasta que el pulverizado sea uniforme.', 'Mire la punta: si queda costra, hay que limpiarla.'], tools: ['recipiente cerrado', 'papel de prueba'], verification: 'Prueba de papel uniforme con la primera placa.' },
  },
  'replace-nozzle': {
    'en-US': { title: 'Replace the flux nozzle if cleaning does not help', steps: ['Fit a nozzle of the same type and bore.', 'Set it at its mark, then check its direction: the next job.'], tools: ['nozzle of the same type', 'tip key', 'marker'], verification: 'Flow at the same pressure within 5 % of the clean baseline; paper test even.' },
    es: { title: 'Cambiar la boquilla de flux si limpiarla no ayuda', steps: ['Monte una boquilla del mismo tipo y diámetro.', 'Póngala en su marca y compruebe su dirección: el siguiente trabajo.'], tools: ['boquilla del mismo tipo', 'llave de la punta', 'rotulador'], verification: 'Caudal a la misma presión dentro del 5 % de la base limpia; prueba de papel uniforme.' },
  },
  'replace-exhaust-filter': {
    'en-US': { title: 'Replace filter mats that washing does not free', steps: ['Take out the worn mats into a closed container: flux residue burns.', 'Fit mats of the same class, tight all round.'], tools: ['new filter mats', 'closed waste container'], verification: 'Exhaust pressure back at its baseline.' },
    es: { title: 'Cambiar los filtros que no se limpian al lavar', steps: ['Saque los filtros gastados a un recipiente cerrado: el residuo de flux arde.', 'Monte filtros de la misma clase, ajustados en todo el borde.'], tools: ['filtros nuevos', 'recipiente cerrado para residuos'], verification: 'Presión de extracción de vuelta en su base.' },
  },
  'clean-ducts': {
    'en-US': { title: 'Clean the exhaust ducts', steps: ['Open the ducts at their hatches, as far as the local rules ask for.', 'Lift the residue with scraper and cleaner, no flame and no hot work.', 'Let everything dry, close the hatches tight.'], tools: ['scraper', 'cleaner', 'cloths', 'closed waste container', 'lamp safe for the place'], verification: 'No residue to be seen at the hatches; exhaust pressure back at its baseline.' },
    es: { title: 'Limpiar los conductos de extracción', steps: ['Abra los conductos por sus registros, hasta donde pidan las reglas locales.', 'Levante el residuo con rasqueta y limpiador, sin llama ni trabajos en caliente.', 'Deje secar todo y cierre bien los registros.'], tools: ['rasqueta', 'limpiador', 'paños', 'recipiente cerrado para residuos', 'lámpara segura para el lugar'], verification: 'Sin residuo a la vista en los registros; presión de extracción de vuelta en su base.' },
  },
  'repair-dosing': {
    'en-US': { title: 'Repair dosing or stroke if setting does not hold', steps: ['Check pump, valve and guide of the spray head for wear.', 'A licensed electrician checks sensor and drive.', 'Calibrate again afterward.'], tools: ['repair kit', 'scale 0.01 g', 'test paper'], verification: 'Dose within 10 % of the recipe in three weighings one after the other.' },
    es: { title: 'Reparar la dosificación o la carrera si el ajuste no se mantiene', steps: ['Compruebe el desgaste de bomba, válvula y guía del cabezal.', 'Un electricista autorizado comprueba sensor y accionamiento.', 'Calibre de nuevo después.'], tools: ['juego de reparación', 'balanza 0,01 g', 'papel de prueba'], verification: 'Dosis dentro del 10 % de la receta en tres pesadas seguidas.' },
  },
  'replace-blower': {
    'en-US': { title: 'Replace the blower', steps: ['A licensed electrician disconnects and connects the motor.', 'Fit the same type and check that it turns the right way.', 'Note the change: its current starts a new history.'], tools: ['spare blower', 'hand tools'], verification: 'Blower current and board temperature at the end of preheat back at their baseline; no vibration.' },
    es: { title: 'Cambiar el ventilador', steps: ['Un electricista autorizado desconecta y conecta el motor.', 'Monte el mismo tipo y compruebe que gira en el sentido correcto.', 'Anote el cambio: su corriente empieza una historia nueva.'], tools: ['ventilador de repuesto', 'herramientas de mano'], verification: 'Corriente del ventilador y temperatura de placa al final del precalentamiento en su base; sin vibración.' },
  },
  'replace-emitter': {
    'en-US': { title: 'Replace the emitter or rod', steps: ['A licensed electrician replaces it with the same rating.', 'Do not touch quartz with bare fingers.', 'Note the change in the log.'], tools: ['spare emitter', 'clean gloves'], verification: 'Board temperature at the end of preheat back at its baseline.' },
    es: { title: 'Cambiar el emisor o la varilla', steps: ['Un electricista autorizado lo cambia por otro de la misma potencia.', 'No toque el cuarzo con los dedos.', 'Anote el cambio en el registro.'], tools: ['emisor de repuesto', 'guantes limpios'], verification: 'Temperatura de placa al final del precalentamiento de vuelta en su base.' },
  },
  'replace-vent-plates': {
    'en-US': { title: 'Replace perforated plates that stay blocked', steps: ['Fit plates with the same holes.', 'See that they sit flat and tight.'], tools: ['spare plates', 'air velocity meter'], verification: 'Air velocity within 15 % over the width.' },
    es: { title: 'Cambiar las placas perforadas que siguen bloqueadas', steps: ['Monte placas con los mismos orificios.', 'Vea que asientan planas y firmes.'], tools: ['placas de repuesto', 'anemómetro'], verification: 'Velocidad del aire dentro del 15 % a lo ancho.' },
  },
  'film-rails': {
    'en-US': { title: 'Put a dry film on the rails where the manual asks for one', steps: ['Use it on clean, dry rails only.', 'Put it on thin, wipe off the excess and let it dry.'], tools: ['specified dry film', 'lint-free cloths'], verification: 'The white cloth stays dry; motor current at its baseline.' },
    es: { title: 'Poner película seca en los carriles donde el manual la pida', steps: ['Úsela solo en carriles limpios y secos.', 'Póngala fina, quite el exceso y déjela secar.'], tools: ['película seca especificada', 'paños sin pelusa'], verification: 'El paño blanco sigue seco; corriente del motor en su base.' },
  },
  'align-rails': {
    'en-US': { title: 'Align the rails', steps: ['Check width and height at the entry, in the middle and at the wave.', 'Correct as the manual says and mark the setting.'], tools: ['width gauge', 'glass plate', 'level'], verification: 'Side-to-side difference of dwell below 0.2 s with the glass plate.' },
    es: { title: 'Alinear los carriles', steps: ['Compruebe ancho y altura a la entrada, en el centro y en la ola.', 'Corrija según el manual y marque el ajuste.'], tools: ['galga de ancho', 'placa de vidrio', 'nivel'], verification: 'Diferencia de contacto entre lados por debajo de 0,2 s con la placa de vidrio.' },
  },
  'adjust-take-up': {
    'en-US': { title: 'Adjust the chain take-up', steps: ['Measure the slack at the place the manual names.', 'Set both sides the same.', 'At the end of its travel the chain is worn: measure its length.'], tools: ['wrench', 'steel rule'], verification: 'No jerks over two empty loops; both sides the same.' },
    es: { title: 'Ajustar el tensor de la cadena', steps: ['Mida la holgura en el punto que indica el manual.', 'Ajuste los dos lados igual.', 'Si el tensor está al final, la cadena está gastada: mida su longitud.'], tools: ['llave', 'regla de acero'], verification: 'Sin tirones en dos vueltas en vacío; los dos lados iguales.' },
  },
  'replace-fingers': {
    'en-US': { title: 'Replace bent or worn fingers', steps: ['Replace them in sets on both sides.', 'Check every one with the gauge.'], tools: ['new fingers', 'go/no-go gauge', 'glass plate'], verification: 'Side-to-side difference of dwell below 0.2 s with the glass plate.' },
    es: { title: 'Cambiar los dedos doblados o gastados', steps: ['Cámbielos por juegos en los dos lados.', 'Compruebe cada uno con la galga.'], tools: ['dedos nuevos', 'galga pasa/no pasa', 'placa de vidrio'], verification: 'Diferencia de contacto entre lados por debajo de 0,2 s con la placa de vidrio.' },
  },
  'check-fingers-and-drive': {
    'en-US': { title: 'After a jam: check fingers and drive', steps: ['Look for bent fingers, broken boards and parts on rails and in the pot.', 'Look at chain, sprockets, coupling and overload clutch.', 'Turn the chain by hand before power is back.'], tools: ['go/no-go gauge', 'lamp', 'tongs'], verification: 'Fingers straight, chain turns freely by hand, nothing left inside.' },
    es: { title: 'Después de un atasco: comprobar dedos y accionamiento', steps: ['Busque dedos doblados, placas rotas y piezas en los carriles y en el crisol.', 'Mire cadena, piñones, acoplamiento y limitador de par.', 'Gire la cadena a mano antes de devolver la energía.'], tools: ['galga pasa/no pasa', 'lámpara', 'pinzas'], verification: 'Dedos rectos, la cadena gira libre a mano, nada queda dentro.' },
  },
  'run-empty-loops': {
    'en-US': { title: 'Run empty loops', steps: ['With every guard on, run 2 to 3 loops without boards.', 'Watch and listen: jerks, noise, drops of lubricant.'], tools: ['stop watch'], verification: 'Motion even over two loops, no drops, motor current as usual.' },
    es: { title: 'Dar vueltas en vacío', steps: ['Con todos los resguardos puestos, dé de 2 a 3 vueltas sin placas.', 'Mire y escuche: tirones, ruido, gotas de lubricante.'], tools: ['cronómetro'], verification: 'Movimiento uniforme en dos vueltas, sin gotas, corriente del motor como siempre.' },
  },
  'check-guards': {
    'en-US': { title: 'Check guards and stops', steps: ['See that every guard is there, whole and fixed.', 'Try each door switch and emergency stop as the manual says.', 'A guard that is missing or bypassed: the line does not run.'], tools: ['checklist of the manual'], verification: 'Every guard on, every stop stops.' },
    es: { title: 'Comprobar resguardos y paros', steps: ['Vea que todos los resguardos están, enteros y fijos.', 'Pruebe cada interruptor de puerta y paro de emergencia según el manual.', 'Si falta un resguardo o está puenteado: la línea no arranca.'], tools: ['lista del manual'], verification: 'Todos los resguardos puestos, todos los paros paran.' },
  },
  'repair-bar-feeder': {
    'en-US': { title: 'Repair feeder or level sensor', steps: ['See that bars or wire feed freely and dry.', 'A licensed electrician checks the level sensor.', 'Compare its reading with a dry dip-stick.'], tools: ['dry dip-stick', 'hand tools'], verification: 'Level stays in its band over a shift; the reading agrees with the dip-stick.' },
    es: { title: 'Reparar el alimentador o el sensor de nivel', steps: ['Vea que los lingotes o el hilo entran libres y secos.', 'Un electricista autorizado comprueba el sensor de nivel.', 'Compare su lectura con una varilla seca.'], tools: ['varilla seca', 'herramientas de mano'], verification: 'El nivel se mantiene en su banda un turno; la lectura coincide con la varilla.' },
  },
  'repair-pump': {
    'en-US': { title: 'Repair the solder pump', steps: ['Lift the pump out as the manual says, drain it over the pot.', 'Check shaft, bearings and impeller for wear; a licensed electrician checks the motor.', 'Refit dry and warm.'], tools: ['hoist or second person', 'bearings', 'impeller', 'closed dross container'], verification: 'Pump speed for the usual wave back at its baseline, wave even.' },
    es: { title: 'Reparar la bomba de soldadura', steps: ['Saque la bomba según el manual y escúrrala sobre el crisol.', 'Compruebe el desgaste de eje, rodamientos y rodete; un electricista autorizado comprueba el motor.', 'Móntela seca y templada.'], tools: ['polipasto o segunda persona', 'rodamientos', 'rodete', 'recipiente cerrado para escoria'], verification: 'Velocidad de la bomba para la ola habitual de vuelta en su base, ola uniforme.' },
  },
  'clear-standing-boards': {
    'en-US': { title: 'Boards may be standing in the heat or over the wave', steps: ['Go to the machine and look; call for help if you see smoke.', 'Turn heat and wave down as the manual says. Do not reach in over the wave.', 'Find why the conveyor stands before it moves again. Boards that stood in the heat go to quality.'], tools: ['the machine’s manual', 'fire extinguisher suited to the place'], verification: 'No board left in preheat or over the wave; the conveyor moves or the heat is down.' },
    es: { title: 'Puede haber placas paradas en el calor o sobre la ola', steps: ['Vaya a la máquina y mire; pida ayuda si ve humo.', 'Baje el calor y la ola según el manual. No meta las manos sobre la ola.', 'Averigüe por qué está parado el transporte antes de que se mueva. Las placas que estuvieron en el calor van a calidad.'], tools: ['el manual de la máquina', 'extintor adecuado al lugar'], verification: 'Ninguna placa en el precalentador ni sobre la ola; el transporte se mueve o el calor está bajo.' },
  },
  'stop-for-low-level': {
    'en-US': { title: 'Solder level is low while the pump runs', steps: ['Stop the wave as the manual says: the pump may draw dross and air.', 'Check the level with a dry, warm dip-stick.', 'Skim, then add dry bars of the same alloy before the wave runs again.'], tools: ['dry dip-stick', 'dry bars of the same alloy', 'tongs'], verification: 'Level in its band by the dip-stick before the pump starts.' },
    es: { title: 'El nivel de soldadura es bajo con la bomba en marcha', steps: ['Pare la ola según el manual: la bomba puede aspirar escoria y aire.', 'Compruebe el nivel con una varilla seca y templada.', 'Retire la escoria y añada lingotes secos de la misma aleación antes de volver a poner la ola.'], tools: ['varilla seca', 'lingotes secos de la misma aleación', 'pinzas'], verification: 'Nivel en su banda con la varilla antes de arrancar la bomba.' },
  },
  'restore-exhaust': {
    'en-US': { title: 'The exhaust seems to be lost', steps: ['Stop the fluxer: vapor and fume stay in the machine and the hall.', 'See whether fan, damper and house exhaust run; call whoever looks after them.', 'No board enters until the exhaust is back and measured.'], tools: ['pressure gauge or smoke paper'], verification: 'Exhaust pressure back at its usual value.' },
    es: { title: 'Parece que se ha perdido la extracción', steps: ['Pare el fluxer: vapor y humos se quedan en la máquina y la nave.', 'Vea si funcionan ventilador, compuerta y extracción del edificio; avise a quien los atiende.', 'No entra ninguna placa hasta que la extracción vuelva y se mida.'], tools: ['manómetro o papel de humo'], verification: 'Presión de extracción de vuelta en su valor habitual.' },
  },
  'stop-flux-leak': {
    'en-US': { title: 'Flux leaks near hot parts', steps: ['Shut the flux supply and stop the spray. No switch, spark or flame near it.', 'Let the heat down as the manual says and keep the extraction on.', 'Take up the flux with absorbent into a closed metal container; then find and mend the leak.'], tools: ['absorbent', 'closed metal container', 'seal kit'], verification: 'Pressure held for 5 min with less than 5 % loss; everything dry before heat.' },
    es: { title: 'Hay una fuga de flux cerca de piezas calientes', steps: ['Cierre el flux y pare el pulverizado. Ningún interruptor, chispa ni llama cerca.', 'Baje el calor según el manual y deje la extracción en marcha.', 'Recoja el flux con absorbente en un recipiente metálico cerrado; después busque y repare la fuga.'], tools: ['absorbente', 'recipiente metálico cerrado', 'juego de juntas'], verification: 'Presión mantenida 5 min con menos del 5 % de pérdida; todo seco antes de calentar.' },
  },
}
