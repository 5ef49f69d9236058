import type { InLanguages } from './catalogue-language.js'

export interface CheckText {
  readonly title: string
  readonly steps: readonly string[]
}

/** What a person does for each check of the diagnosis; [CP] throughout, values in the text tagged beside them. */
export const CHECK_TEXTS: Readonly<Record<string, InLanguages<CheckText>>> = {
  'look-in-log': {
    'en-US': { title: 'Look in the shift log', steps: ['Look for a recipe change, a set-point edit, work on the machine or another board rhythm since the change began.', 'If there is one, decline the suggestion as "changed on purpose".'] },
    es: { title: 'Mirar el registro del turno', steps: ['Busque un cambio de receta, un ajuste de consigna, un trabajo en la máquina u otro ritmo de placas desde que empezó el cambio.', 'Si lo hay, rechace la sugerencia como «cambiado a propósito».'] },
  },
  'look-at-doors-and-exhaust': {
    'en-US': { title: 'Look at doors, draft and house exhaust', steps: ['Look for open doors, fans and a changed exhaust damper.', 'Ask whether the house exhaust was changed on that day.'] },
    es: { title: 'Mirar puertas, corrientes y extracción del edificio', steps: ['Busque puertas abiertas, ventiladores y una compuerta de extracción cambiada.', 'Pregunte si ese día se cambió la extracción del edificio.'] },
  },
  'compare-with-second-instrument': {
    'en-US': { title: 'Compare with a second instrument', steps: ['Compare the shown value with a second, trusted instrument.', 'A value that never moves at all is a sensor or cable fault.'] },
    es: { title: 'Comparar con un segundo instrumento', steps: ['Compare el valor mostrado con un segundo instrumento fiable.', 'Un valor que no se mueve nada es un fallo de sensor o de cable.'] },
  },
  'look-at-boards': {
    'en-US': { title: 'Look at the last boards', steps: ['See on which side the defects sit.', 'Turn one board by 180 degrees: if the bad side stays with the machine, it is nozzle or transport; if it goes with the board, it is the product.'] },
    es: { title: 'Mirar las últimas placas', steps: ['Vea en qué lado están los defectos.', 'Gire una placa 180 grados: si el lado malo se queda con la máquina, es boquilla o transporte; si va con la placa, es el producto.'] },
  },
  'paper-test': {
    'en-US': { title: 'Spray a paper', steps: ['Run a sheet of thermal or indicator paper through the fluxer at the recipe.', 'Look for gaps, stripes, a shifted edge and spray beyond the board.'] },
    es: { title: 'Prueba de papel', steps: ['Pase una hoja de papel térmico o indicador por el fluxer con la receta.', 'Busque huecos, franjas, un borde desplazado y pulverizado fuera de la placa.'] },
  },
  'look-at-nozzle-tip': {
    'en-US': { title: 'Look at the nozzle tip', steps: ['Look for a crust on the tip, worst after a stop.', 'Purge once and see whether the spray recovers.'] },
    es: { title: 'Mirar la punta de la boquilla', steps: ['Busque costra en la punta, peor después de una parada.', 'Purgue una vez y vea si el pulverizado se recupera.'] },
  },
  'pressure-hold': {
    'en-US': { title: 'Hold the pressure for 5 minutes', steps: ['With the spray off, note the pressure, wait 5 minutes, note it again.', 'A loss of 5 % or more, or a wet fitting, is a leak.'] },
    es: { title: 'Mantener la presión 5 minutos', steps: ['Sin pulverizar, anote la presión, espere 5 minutos y anótela otra vez.', 'Una pérdida del 5 % o más, o un racor mojado, es una fuga.'] },
  },
  'look-at-flux-hose': {
    'en-US': { title: 'Look at the flux hose', steps: ['Look for kinks and a tight bend at both ends of the stroke.', 'Compare the flow at both ends of the stroke.'] },
    es: { title: 'Mirar la manguera de flux', steps: ['Busque dobleces y curvas cerradas en los dos extremos de la carrera.', 'Compare el caudal en los dos extremos.'] },
  },
  'weigh-dose': {
    'en-US': { title: 'Weigh the flux dose', steps: ['Weigh a card before and right after the fluxer, on a scale of 0.01 g.', 'Compare with the dose of the recipe: more than 10 % off is a fault.'] },
    es: { title: 'Pesar la dosis de flux', steps: ['Pese una tarjeta antes y justo después del fluxer, en una balanza de 0,01 g.', 'Compare con la dosis de la receta: más de un 10 % de diferencia es un fallo.'] },
  },
  'look-at-exhaust-filter': {
    'en-US': { title: 'Look at the exhaust filter and hood', steps: ['Read the differential pressure if there is a gauge.', 'Look for drops at the hood and wet filter mats.'] },
    es: { title: 'Mirar el filtro y la campana de extracción', steps: ['Lea la presión diferencial si hay manómetro.', 'Busque gotas en la campana y filtros mojados.'] },
  },
  'look-for-wet-chain': {
    'en-US': { title: 'Look for flux on the chain', steps: ['With the guards on, look at chain and fingers right after the fluxer.', 'Wet fingers mean the spray reaches past the board.'] },
    es: { title: 'Buscar flux en la cadena', steps: ['Con los resguardos puestos, mire cadena y dedos justo después del fluxer.', 'Dedos mojados significan que el pulverizado sobrepasa la placa.'] },
  },
  'look-at-blower': {
    'en-US': { title: 'Look at the blower', steps: ['Isolate, let cool, look at the wheel with a mirror and a lamp.', 'Look for residue on both sides of the blades; note vibration before you stop it.'] },
    es: { title: 'Mirar el ventilador', steps: ['Aísle, deje enfriar y mire la rueda con espejo y lámpara.', 'Busque residuo en las dos caras de las palas; anote la vibración antes de pararlo.'] },
  },
  'look-at-emitters': {
    'en-US': { title: 'Look at emitters, rods and glass', steps: ['Isolate, let cool, look for drips, crust and dark spots.'] },
    es: { title: 'Mirar emisores, varillas y cristales', steps: ['Aísle, deje enfriar y busque goteos, costra y manchas oscuras.'] },
  },
  'look-at-vents': {
    'en-US': { title: 'Look through the vent holes', steps: ['Isolate, let cool, hold a lamp behind the plate and look for closed holes.'] },
    es: { title: 'Mirar a través de los orificios', steps: ['Aísle, deje enfriar, ponga una lámpara detrás de la placa y busque orificios cerrados.'] },
  },
  'look-at-thermocouple': {
    'en-US': { title: 'Look at the thermocouple', steps: ['Isolate, let cool, look for color, a lump of residue and the mark of its depth.', 'Until it is clean, the shown temperature may not be the real one.'] },
    es: { title: 'Mirar el termopar', steps: ['Aísle, deje enfriar y mire el color, si hay un bulto de residuo y la marca de profundidad.', 'Hasta que esté limpio, la temperatura mostrada puede no ser la real.'] },
  },
  'compare-warm-up': {
    'en-US': { title: 'Compare the warm-up with earlier ones', steps: ['At the next start, note how long each zone takes and whether its duty stays at the limit.', 'One zone slower than before points to its element or air; all zones slower point to supply or exhaust.'] },
    es: { title: 'Comparar el calentamiento con los anteriores', steps: ['En el próximo arranque, anote cuánto tarda cada zona y si su potencia se queda en el límite.', 'Una zona más lenta que antes apunta a su resistencia o a su aire; todas más lentas, a la alimentación o a la extracción.'] },
  },
  'measure-element-current': {
    'en-US': { title: 'Measure the current of the element (licensed electrician)', steps: ['A licensed electrician measures the current of each phase with a clamp meter.', 'A third missing means one phase or fuse.'] },
    es: { title: 'Medir la corriente de la resistencia (electricista autorizado)', steps: ['Un electricista autorizado mide la corriente de cada fase con pinza amperimétrica.', 'Si falta un tercio, es una fase o un fusible.'] },
  },
  'look-at-rails': {
    'en-US': { title: 'Wipe and feel the rails', steps: ['Isolate, wipe a white cloth along the rail and feel for sticky or rough places.', 'Pull a carrier or a short length of chain by hand at fixed places and compare.'] },
    es: { title: 'Pasar un paño y palpar los carriles', steps: ['Aísle, pase un paño blanco por el carril y palpe zonas pegajosas o ásperas.', 'Tire a mano de un portador o de un tramo corto de cadena en puntos fijos y compare.'] },
  },
  'look-at-chain': {
    'en-US': { title: 'Look at the chain', steps: ['Isolate, bend links one after the other and look for stiff ones, residue and dry pins.', 'Look at the take-up: a slack chain jerks like a dirty one.'] },
    es: { title: 'Mirar la cadena', steps: ['Aísle, doble los eslabones uno tras otro y busque rígidos, residuo y pernos secos.', 'Mire el tensor: una cadena floja da tirones como una sucia.'] },
  },
  'touch-lubricant': {
    'en-US': { title: 'Touch the lubricant', steps: ['Isolate, let cool, wipe a link with a white cloth.', 'Dry and bright: lubricant missing. Brown and gluey: wrong or old lubricant. Look when it was last lubricated and with what.'] },
    es: { title: 'Tocar el lubricante', steps: ['Aísle, deje enfriar y pase un paño blanco por un eslabón.', 'Seco y brillante: falta lubricante. Marrón y pegajoso: lubricante equivocado o viejo. Mire cuándo se lubricó y con qué.'] },
  },
  'gauge-fingers': {
    'en-US': { title: 'Gauge the fingers', steps: ['Isolate, check with the go/no-go gauge that fingers are straight and free of residue.', 'With a glass plate, compare the contact on both sides: more than 0.2 s of difference in dwell makes defects.'] },
    es: { title: 'Calibrar los dedos', steps: ['Aísle y compruebe con la galga pasa/no pasa que los dedos están rectos y sin residuo.', 'Con una placa de vidrio compare el contacto en ambos lados: más de 0,2 s de diferencia en el tiempo de contacto causa defectos.'] },
  },
  'look-at-sprockets': {
    'en-US': { title: 'Look at sprockets and chain length', steps: ['Isolate, look for hooked teeth.', 'Measure the chain over at least 20 links: 3 % longer than new is worn out, 1.5 % on fixed centers.'] },
    es: { title: 'Mirar piñones y longitud de cadena', steps: ['Aísle y busque dientes en gancho.', 'Mida la cadena sobre al menos 20 eslabones: un 3 % más larga que nueva está gastada, un 1,5 % con centros fijos.'] },
  },
  'listen-to-bearings': {
    'en-US': { title: 'Listen to the bearings', steps: ['With the guards on, listen for grinding and measure bearing temperatures from outside.', 'Compare both sides and both ends.'] },
    es: { title: 'Escuchar los rodamientos', steps: ['Con los resguardos puestos, escuche si rozan y mida desde fuera la temperatura de los rodamientos.', 'Compare ambos lados y ambos extremos.'] },
  },
  'compare-speed-under-load': {
    'en-US': { title: 'Compare speed with and without boards', steps: ['Time a mark on the chain over a known length, empty and loaded.', 'Slower than the set-point under load points to motor or gearbox.'] },
    es: { title: 'Comparar la velocidad con y sin placas', steps: ['Cronometre una marca de la cadena en una longitud conocida, en vacío y cargada.', 'Más lenta que la consigna bajo carga apunta al motor o al reductor.'] },
  },
  'dip-stick': {
    'en-US': { title: 'Check the level with a dry dip-stick', steps: ['With a dry, warm dip-stick measure the level at the reference and compare with the reading.', 'Skim first if dross lies under the float.'] },
    es: { title: 'Comprobar el nivel con varilla seca', steps: ['Con una varilla seca y templada mida el nivel en la referencia y compárelo con la lectura.', 'Retire antes la escoria si la hay bajo el flotador.'] },
  },
  'look-at-dross': {
    'en-US': { title: 'Look at dross and wave', steps: ['Look at the surface and at the evenness of the wave, from outside the splash zone.', 'Compare pump speed for the same wave with earlier notes.'] },
    es: { title: 'Mirar la escoria y la ola', steps: ['Mire la superficie y la uniformidad de la ola, desde fuera de la zona de salpicaduras.', 'Compare la velocidad de la bomba para la misma ola con notas anteriores.'] },
  },
  'reference-probe': {
    'en-US': { title: 'Compare with a reference probe', steps: ['Put a dry, pre-warmed reference probe at the same place and depth, wave on.', 'More than 2 °C of difference: replace the probe, do not correct the set-point.'] },
    es: { title: 'Comparar con una sonda de referencia', steps: ['Ponga una sonda de referencia seca y templada en el mismo sitio y profundidad, con la ola en marcha.', 'Más de 2 °C de diferencia: cambie la sonda, no corrija la consigna.'] },
  },
  'compare-pot-warm-up': {
    'en-US': { title: 'Compare the pot warm-up with earlier ones', steps: ['Note how long the pot takes to melt and settle and compare with earlier starts.', 'Slower at full duty points to an element: have a licensed electrician measure it.'] },
    es: { title: 'Comparar el calentamiento del crisol con los anteriores', steps: ['Anote cuánto tarda el crisol en fundir y estabilizarse y compare con arranques anteriores.', 'Más lento a plena potencia apunta a una resistencia: que la mida un electricista autorizado.'] },
  },
}
