import type { InLanguages } from '../catalogue-language.js'
import type { CheckText } from '../work-catalogue-data-checks.js'

function check(english: readonly [string, ...string[]], spanish: readonly [string, ...string[]]): InLanguages<CheckText> {
  const [title, ...steps] = english
  const [titleEs, ...stepsEs] = spanish
  return { 'en-US': { title, steps }, es: { title: titleEs, steps: stepsEs } }
}

/** Checks of the rounds that are no checks of the diagnosis; [CP] throughout. */
export const ROUND_CHECK_TEXTS: Readonly<Record<string, InLanguages<CheckText>>> = {
  'exhaust-and-guards': check(
    ['Look at exhaust and guards', 'See that the exhaust draws at fluxer, preheat and pot.', 'See that every guard and cover is on.'],
    ['Mirar extracción y resguardos', 'Vea que la extracción aspira en fluxer, precalentador y crisol.', 'Vea que todos los resguardos y tapas están puestos.'],
  ),
  'purge-nozzle': check(
    ['Purge the flux nozzle', 'Purge into a closed container until the spray is even.', 'Keep hands and face away from the spray.'],
    ['Purgar la boquilla de flux', 'Purgue en un recipiente cerrado hasta que el pulverizado sea uniforme.', 'Mantenga manos y cara lejos del pulverizado.'],
  ),
  'profile-board': check(
    ['Run the profile board', 'Run the profile board at the recipe and note the topside temperature at the end of preheat.', 'The data sheet of the flux says what it should be.'],
    ['Pasar la placa de perfil', 'Pase la placa de perfil con la receta y anote la temperatura de la cara superior al final del precalentamiento.', 'La ficha técnica del flux dice cuánto debe ser.'],
  ),
  'chain-length': check(
    ['Measure the chain length', 'Isolate, let cool, pull the chain tight and measure over at least 20 links.', 'Enter the length and the number of links.'],
    ['Medir la longitud de la cadena', 'Aísle, deje enfriar, tense la cadena y mida sobre al menos 20 eslabones.', 'Introduzca la longitud y el número de eslabones.'],
  ),
  'contact-time': check(
    ['Measure the contact time left and right', 'Run the glass plate or the contact gauge at the recipe.', 'Enter the contact time of the left and of the right side.', 'More than 0.2 s between the sides makes defects.'],
    ['Medir el tiempo de contacto a izquierda y derecha', 'Pase la placa de vidrio o el medidor de contacto con la receta.', 'Introduzca el tiempo de contacto del lado izquierdo y del derecho.', 'Más de 0,2 s entre los lados causa defectos.'],
  ),
  'look-at-shaft': check(
    ['Look at the drive shaft', 'Isolate, let cool, turn the shaft by hand and feel for play and rubbing.', 'Look for loose keys and set screws.'],
    ['Mirar el eje motriz', 'Aísle, deje enfriar, gire el eje a mano y note si hay juego o roce.', 'Busque chavetas y tornillos flojos.'],
  ),
  'empty-loops': check(
    ['Run the chain empty', 'Run two or three loops without boards, guards on, and watch and listen.', 'Enter the number of loops.'],
    ['Hacer girar la cadena en vacío', 'Haga dos o tres vueltas sin placas, con los resguardos puestos, y mire y escuche.', 'Introduzca el número de vueltas.'],
  ),
  'bars-added': check(
    ['Note bars added', 'Add only dry, pre-warmed bars of the same certified alloy, gently.', 'Enter the kilograms; none is a fine answer.'],
    ['Anotar lingotes añadidos', 'Añada solo lingotes secos y templados de la misma aleación certificada, con suavidad.', 'Introduzca los kilogramos; ninguno también vale.'],
  ),
  'dross-removed': check(
    ['Note dross removed', 'Weigh the dross in its closed container.', 'Enter the kilograms; none is a fine answer.'],
    ['Anotar escoria retirada', 'Pese la escoria en su recipiente cerrado.', 'Introduzca los kilogramos; ninguna también vale.'],
  ),
  'wave-gauge': check(
    ['Gauge the wave', 'Put the dry, warm gauge across the rails and read the height above the nozzle lip.', 'Compare left and right.'],
    ['Medir la ola', 'Ponga la galga seca y templada sobre los carriles y lea la altura sobre el labio de la boquilla.', 'Compare izquierda y derecha.'],
  ),
  'bath-analysis': check(
    ['Enter the bath analysis', 'Take the sample with a dry, warm ladle and send it to the laboratory.', 'Enter the shares of the report and compare with the contract.'],
    ['Introducir el análisis del baño', 'Tome la muestra con un cazo seco y templado y envíela al laboratorio.', 'Introduzca los porcentajes del informe y compárelos con el contrato.'],
  ),
  'melt-complete': check(
    ['See that the melt is complete', 'Look from outside the splash zone: no solid island, no crust over the pump.', 'Start the pump only then.'],
    ['Ver que la fusión es completa', 'Mire desde fuera de la zona de salpicaduras: sin islas sólidas ni costra sobre la bomba.', 'Arranque la bomba solo entonces.'],
  ),
  'first-board': check(
    ['Release the first board', 'Inspect the first board on both sides against the release sample.', 'Release production when it is in order.'],
    ['Liberar la primera placa', 'Inspeccione la primera placa por ambas caras frente a la muestra de liberación.', 'Libere la producción cuando esté en orden.'],
  ),
}

type Looks = readonly [string, string, string]

/** What a look can find: in order, visible, bad (findings 0, 2, 4). */
export const LOOK_TEXTS: Readonly<Record<string, InLanguages<Looks>>> = {
  'exhaust-and-guards': { 'en-US': ['It draws everywhere, all guards are on', 'It draws weakly, or a cover is loose', 'It does not draw, or a guard is missing'], es: ['Aspira en todas partes, todos los resguardos puestos', 'Aspira poco, o una tapa está floja', 'No aspira, o falta un resguardo'] },
  'look-at-nozzle-tip': { 'en-US': ['Bare tip, even spray', 'A thin rim of residue', 'A crust, the spray is uneven'], es: ['Punta limpia, pulverizado uniforme', 'Un cerco fino de residuo', 'Costra, el pulverizado es desigual'] },
  'purge-nozzle': { 'en-US': ['Even at once', 'Even after a second purge', 'Still uneven'], es: ['Uniforme enseguida', 'Uniforme tras otra purga', 'Sigue desigual'] },
  'paper-test': { 'en-US': ['Covered evenly, edges straight', 'Lighter on one side or at one edge', 'Gaps or stripes'], es: ['Cubierto por igual, bordes rectos', 'Más claro en un lado o borde', 'Huecos o franjas'] },
  'look-for-wet-chain': { 'en-US': ['Chain and fingers dry', 'Fingers damp', 'Chain wet'], es: ['Cadena y dedos secos', 'Dedos húmedos', 'Cadena mojada'] },
  'look-at-exhaust-filter': { 'en-US': ['Mat dry and light', 'Mat brown, no drops', 'Mat soaked, or drops at the hood'], es: ['Filtro seco y claro', 'Filtro marrón, sin gotas', 'Filtro empapado, o gotas en la campana'] },
  'look-at-flux-hose': { 'en-US': ['Even bends, clear inside', 'A tight bend or a film inside', 'A kink, or residue inside'], es: ['Curvas suaves, limpia por dentro', 'Una curva cerrada o una película dentro', 'Doblez, o residuo dentro'] },
  'look-at-emitters': { 'en-US': ['Clean, even color', 'Some spots or drips', 'Crust or dark patches'], es: ['Limpios, color uniforme', 'Algunas manchas o goteos', 'Costra o zonas oscuras'] },
  'look-at-vents': { 'en-US': ['Light through every hole', 'Some holes narrow', 'Holes closed'], es: ['Se ve luz por todos los orificios', 'Algunos orificios estrechos', 'Orificios cerrados'] },
  'look-at-blower': { 'en-US': ['Blades clean, runs smooth', 'A film on the blades', 'Lumps on the blades, or it vibrates'], es: ['Palas limpias, gira suave', 'Una película en las palas', 'Grumos en las palas, o vibra'] },
  'look-at-thermocouple': { 'en-US': ['Bare, at its mark', 'A film, at its mark', 'A lump, or off its mark'], es: ['Limpio, en su marca', 'Una película, en su marca', 'Un bulto, o fuera de su marca'] },
  'look-at-rails': { 'en-US': ['Cloth stays white, smooth', 'Cloth brown, smooth', 'Sticky or rough places'], es: ['El paño queda blanco, suave', 'El paño marrón, suave', 'Zonas pegajosas o ásperas'] },
  'look-at-chain': { 'en-US': ['Every link bends, no residue', 'Some residue, links bend', 'Stiff links, or residue in the joints'], es: ['Todos los eslabones doblan, sin residuo', 'Algo de residuo, doblan', 'Eslabones rígidos, o residuo en las uniones'] },
  'gauge-fingers': { 'en-US': ['Straight and clean', 'A film of residue, gauge passes', 'Bent, or the gauge does not pass'], es: ['Rectos y limpios', 'Una película de residuo, la galga pasa', 'Doblados, o la galga no pasa'] },
  'touch-lubricant': { 'en-US': ['A thin film, clear', 'Nearly dry, or darker', 'Dry and bright, or brown and gluey'], es: ['Una película fina y clara', 'Casi seco, o más oscuro', 'Seco y brillante, o marrón y pegajoso'] },
  'listen-to-bearings': { 'en-US': ['Quiet, both sides alike', 'One side warmer or louder', 'Grinding, or hot'], es: ['Silenciosos, ambos lados iguales', 'Un lado más caliente o ruidoso', 'Rozan, o muy calientes'] },
  'look-at-shaft': { 'en-US': ['Turns freely, no play', 'A little play', 'It rubs, or a key is loose'], es: ['Gira libre, sin juego', 'Algo de juego', 'Roza, o una chaveta está floja'] },
  'look-at-sprockets': { 'en-US': ['Teeth even', 'Teeth worn on one side', 'Hooked teeth'], es: ['Dientes iguales', 'Dientes gastados por un lado', 'Dientes en gancho'] },
  'dip-stick': { 'en-US': ['In the middle of its band', 'Near the end of its band', 'Outside its band'], es: ['En el centro de su banda', 'Cerca del final de su banda', 'Fuera de su banda'] },
  'look-at-dross': { 'en-US': ['Thin skin, wave even', 'Dross at the edges', 'Dross near the intake, or the wave is ragged'], es: ['Piel fina, ola uniforme', 'Escoria en los bordes', 'Escoria junto a la aspiración, u ola irregular'] },
  'compare-pot-warm-up': { 'en-US': ['As fast as before', 'A little slower', 'Clearly slower'], es: ['Tan rápido como antes', 'Un poco más lento', 'Claramente más lento'] },
  'melt-complete': { 'en-US': ['All molten', 'A soft crust at the edge', 'Solid parts left'], es: ['Todo fundido', 'Una costra blanda en el borde', 'Quedan partes sólidas'] },
  'first-board': { 'en-US': ['As the release sample', 'Small differences', 'Not to be released'], es: ['Como la muestra de liberación', 'Pequeñas diferencias', 'No se libera'] },
}
