import type { JobText } from './work-catalogue-data-jobs-en-us.js'

/** Los trabajos en palabras llanas; mismas fuentes que el texto en inglés. */
export const JOB_TEXTS_ES: Readonly<Record<string, JobText>> = {
  'clean-nozzle': {
    title: 'Limpiar la boquilla de flux',
    steps: ['Quite la punta y déjela 30 min en el limpiador, o lávela en la máquina si está permitido.', 'Límpiela con un cepillo suave, nunca con una aguja de acero.', 'Móntela en su marca y purgue en un recipiente cerrado.'],
    tools: ['llave de la punta', 'cepillo suave', 'bandeja', 'punta de repuesto'],
    verification: 'Prueba de papel uniforme; caudal a la misma presión dentro del 5 % de la base limpia.',
  },
  'align-nozzle': {
    title: 'Alinear la boquilla de flux',
    steps: ['Ajuste la boquilla con el útil o en su marca.', 'Apriete el tornillo de bloqueo y marque la posición.'],
    tools: ['galga de alineación', 'rotulador'],
    verification: 'Prueba de papel igual a izquierda y derecha.',
  },
  'replace-seals': {
    title: 'Cambiar juntas tóricas y de válvulas',
    steps: ['Cambie las juntas por otras que resistan el flux y el limpiador.', 'Mire si los asientos tienen rayas y límpielos.'],
    tools: ['extractor de juntas', 'juego de juntas', 'paño sin pelusa'],
    verification: 'Presión mantenida 5 min con menos del 5 % de pérdida.',
  },
  'swap-exhaust-filter': {
    title: 'Cambiar el filtro de extracción y limpiar la campana',
    steps: ['Ponga el juego limpio de repuesto y lave el sucio fuera de la línea.', 'Limpie la campana y abra el conducto donde se pueda: mire si hay residuo.', 'Deje secar del todo el juego lavado antes de guardarlo.'],
    tools: ['juego de filtros limpio', 'bandeja', 'paños', 'recipiente cerrado para residuos'],
    verification: 'Presión de extracción de vuelta en su base; sin gotas en la campana.',
  },
  'replace-flux-hose': {
    title: 'Enjuagar o cambiar la manguera de flux',
    steps: ['Enjuague la manguera; si está doblada, dura o sigue sucia, cámbiela.', 'Guíela sin curvas cerradas en ningún extremo de la carrera.'],
    tools: ['manguera y racores', 'cortatubos'],
    verification: 'El mismo caudal en los dos extremos de la carrera.',
  },
  'calibrate-dosing': {
    title: 'Calibrar la dosis de flux',
    steps: ['Pese la dosis en una tarjeta y compárela con la receta.', 'Corrija la dosificación según el manual y anote el valor viejo y el nuevo.', 'Juzgue el depósito por área: un hueco falla, un exceso falla.'],
    tools: ['balanza 0,01 g', 'tarjetas', 'papel de prueba'],
    verification: 'Dosis dentro del 10 % de la receta; papel sin huecos.',
  },
  'set-spray-stroke': {
    title: 'Ajustar la carrera de pulverizado',
    steps: ['Ajuste la carrera a la placa y de 5 a 10 mm por lado.', 'Compruebe el sensor que detecta los bordes de la placa.'],
    tools: ['papel de prueba', 'regla de acero'],
    verification: 'Cadena y dedos secos después del fluxer.',
  },
  'clean-blower': {
    title: 'Limpiar el ventilador y su rueda',
    steps: ['Que un electricista autorizado desconecte el motor si el cableado estorba.', 'Quite la carcasa; limpie las palas por las dos caras sin mover los contrapesos.', 'Lave las carcasas en la máquina, nunca los motores. Seque antes de montar.'],
    tools: ['herramientas de mano', 'cepillo', 'aspirador con filtro HEPA', 'espejo'],
    verification: 'Corriente del ventilador y temperatura de placa al final del precalentamiento en su base; sin vibración.',
  },
  'clean-emitters': {
    title: 'Limpiar emisores, varillas y cristales',
    steps: ['Cristal: levante el residuo con la rasqueta y después use el limpiador.', 'Varillas y cerámica: solo paño, sin líquido en piezas porosas.', 'Deje secar todo por completo.'],
    tools: ['rasqueta', 'paño sin pelusa', 'limpiador'],
    verification: 'Temperatura de placa al final del precalentamiento de vuelta en su base.',
  },
  'clean-vents': {
    title: 'Limpiar orificios y placas perforadas',
    steps: ['Saque las placas y ponga unas limpias si las hay.', 'Póngalas en remojo o lávelas y abra cada orificio.', 'Seque y monte.'],
    tools: ['placas de repuesto', 'cepillo suave', 'bandeja', 'anemómetro'],
    verification: 'Velocidad del aire dentro del 15 % a lo ancho.',
  },
  'clean-thermocouple': {
    title: 'Limpiar el termopar',
    steps: ['Marque su profundidad antes de tocarlo.', 'Límpielo con el limpiador; no lo doble.', 'Déjelo a la misma profundidad. Si queda un bulto o la vaina está dañada, cámbielo.'],
    tools: ['paño sin pelusa', 'limpiador', 'rotulador'],
    verification: 'En el próximo arranque o cambio de consigna responde tan rápido como antes; coincide con una sonda de referencia.',
  },
  'replace-thermocouple': {
    title: 'Cambiar el termopar si limpiarlo no basta',
    steps: ['Un electricista autorizado lo cambia por otro del mismo tipo y vaina.', 'Móntelo a la profundidad marcada y anote el cambio.'],
    tools: ['termopar de repuesto', 'sonda de referencia'],
    verification: 'Coincide con una sonda de referencia y sigue un cambio de consigna tan rápido como antes.',
  },
  'replace-element': {
    title: 'Cambiar la resistencia',
    steps: ['Un electricista autorizado mide antes cada fase: si falta un tercio puede ser un fusible.', 'Cambie la resistencia por otra de la misma potencia.', 'Anote el cambio; el tiempo de calentamiento empieza un historial nuevo.'],
    tools: ['pinza amperimétrica', 'resistencia de repuesto'],
    verification: 'Tiempo de calentamiento de vuelta en su base.',
  },
  'clean-rails': {
    title: 'Limpiar los carriles',
    steps: ['Rasque con plástico o latón, del extremo limpio al sucio.', 'Limpie con el limpiador y seque.', 'Ponga película seca solo donde el manual la pida.'],
    tools: ['rasqueta de plástico o latón', 'paños', 'limpiador'],
    verification: 'Corriente del motor de vuelta en su base; el paño blanco sigue blanco.',
  },
  'clean-chain': {
    title: 'Limpiar la cadena',
    steps: [
      'Límpiela montada con la unidad de cepillos, o desmóntela y lávela. En lavadora tarda de 1 a 4 horas en total; a mano, una cadena mucho tiempo sin cuidar lleva unos dos días.',
      'Aclare, sople las articulaciones en un recinto cerrado y seque a 60-80 °C durante 20-30 min.',
      'Lubrique enseguida, en menos de una hora, aún templada: el trabajo siguiente.',
    ],
    tools: ['unidad de cepillos o lavadora', 'limpiador', 'armario de secado', 'lubricante a mano'],
    verification: 'Tras lubricar: corriente del motor y velocidad en su base, sin saltos en dos vueltas.',
  },
  'lubricate-chain': {
    title: 'Lubricar la cadena',
    steps: [
      'Use el producto especificado para el punto más caliente de la cadena, sin silicona. No mezcle nunca dos productos: elimine antes el viejo.',
      'Ponga poca cantidad en pernos y rodillos con la cadena parada y fría, o como diga el lubricante.',
      'Limpie el exceso, dé de 2 a 3 vueltas en vacío, pare, aísle y limpie otra vez. Anote producto y lote.',
    ],
    tools: ['aplicador', 'lubricante especificado', 'paños sin pelusa'],
    verification: 'La corriente del motor baja en una hora.',
  },
  'clean-fingers': {
    title: 'Limpiar o cambiar los dedos',
    steps: ['Ponga un juego limpio si lo hay y lave el sucio.', 'Cepille el resto; cambie los dedos doblados.', 'Llene el depósito del limpiador de dedos.'],
    tools: ['dedos de repuesto', 'galga pasa/no pasa', 'cepillo'],
    verification: 'Diferencia de tiempo de contacto entre lados menor de 0,2 s con la placa de vidrio.',
  },
  'replace-chain-and-sprockets': {
    title: 'Cambiar juntos cadena y piñones',
    steps: ['Mida sobre al menos 20 eslabones: cambie al 3 % de alargamiento, al 1,5 % con centros fijos.', 'Cambie cadena y piñones juntos y ajuste el tensor.', 'Lubrique antes de arrancar: el trabajo siguiente.'],
    tools: ['calibre', 'extractor', 'cadena y piñones'],
    verification: 'El cambio periódico de velocidad ha desaparecido; corriente del motor en su base.',
  },
  'replace-bearing': {
    title: 'Cambiar el rodamiento',
    steps: ['Localice el rodamiento caliente o ruidoso y revise su pareja.', 'Cámbielo y engráselo con el producto especificado para su temperatura.'],
    tools: ['extractor', 'rodamiento', 'grasa especificada'],
    verification: 'Sin ruido ni calor; corriente del motor en su base.',
  },
  'repair-drive': {
    title: 'Reparar el accionamiento',
    steps: ['Revise holgura y aceite de acoplamiento y reductor.', 'Un electricista autorizado revisa motor y variador.', 'No suba la consigna de velocidad para compensarlo.'],
    tools: ['herramientas de mano', 'motor o reductor de repuesto'],
    verification: 'Velocidad en su consigna bajo carga; corriente del motor en su base.',
  },
  'skim-dross': {
    title: 'Retirar la escoria',
    steps: ['Retire despacio con una espumadera seca y templada, con la ola parada.', 'Ponga la escoria en un recipiente cerrado y etiquetado.', 'Mire otra vez el nivel.'],
    tools: ['espumadera', 'recipiente cerrado para escoria'],
    verification: 'Superficie brillante; ola uniforme; velocidad de bomba para la misma ola en su base.',
  },
  'top-up-pot': {
    title: 'Rellenar el crisol',
    steps: ['Retire antes la escoria si la hay en la superficie.', 'Añada lingotes secos y templados de la misma aleación certificada, con suavidad y de uno en uno.', 'Espere a que vuelva la temperatura antes de la siguiente placa.'],
    tools: ['lingotes secos de la misma aleación', 'tenazas'],
    verification: 'Nivel en su banda, temperatura del crisol recuperada.',
  },
  'strip-pump': {
    title: 'Desmontar y limpiar bomba, toberas y deflectores',
    steps: ['Saque bomba y toberas según el manual y escurra sobre el crisol.', 'Rasque deflectores, aspiración y toberas.', 'Monte en seco y templado.'],
    tools: ['polipasto o segunda persona', 'ganchos', 'rasqueta', 'recipiente cerrado para escoria'],
    verification: 'Velocidad de bomba para la ola habitual de vuelta en su base.',
  },
  'replace-pot-probe': {
    title: 'Cambiar el termopar del crisol',
    steps: ['Compare con una sonda de referencia a la misma profundidad, con la ola en marcha.', 'Un electricista autorizado cambia la sonda.', 'Introduzca una corrección solo con un registro firmado.'],
    tools: ['sonda de referencia', 'sonda de repuesto'],
    verification: 'Menos de 2 °C de diferencia con la sonda de referencia.',
  },
  'replace-pot-element': {
    title: 'Cambiar la resistencia del crisol',
    steps: ['Un electricista autorizado mide cada fase y cambia la resistencia por otra de la misma potencia.', 'Caliente despacio como dice el manual.'],
    tools: ['pinza amperimétrica', 'resistencia de repuesto'],
    verification: 'Potencia en reposo y tiempo de calentamiento del crisol en su base.',
  },
  'sample-bath': {
    title: 'Tomar una muestra del baño',
    steps: ['Remueva y tome la muestra bajo la superficie con un cazo seco y templado.', 'Envíela al laboratorio, cada 30 días aproximadamente.'],
    tools: ['cazo', 'molde de muestra'],
    verification: 'Informe dentro de los límites de la norma del contrato.',
  },
}
