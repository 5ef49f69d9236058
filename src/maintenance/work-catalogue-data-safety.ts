import type { InLanguages } from './catalogue-language.js'
import type { CautionId, IsolationStep, ReturnStep } from './work-catalogue.js'

/**
 * Cautions of work at a wave line. Compiled from trade practice [CP] and from the sources named beside them; clause
 * values of standards are from memory and to be checked in the bought copies. Local law, the machine's manual and the
 * safety data sheets stand above all of it.
 */
export const CAUTION_TEXTS: Readonly<Record<CautionId, InLanguages<string>>> = {
  // US 29 CFR 1910.147, elsewhere ISO 14118 and local law [STD, from memory]
  'isolate-and-verify': {
    'en-US': 'Isolate electricity and compressed air, lock and tag, and verify that nothing moves or is live before you reach in. Follow the lockout rules of your site and the local law.',
    es: 'Aísle la electricidad y el aire comprimido, bloquee y etiquete, y compruebe que nada se mueve ni tiene tensión antes de meter las manos. Siga las reglas de bloqueo de su planta y la ley local.',
  },
  'licensed-electrician': {
    'en-US': 'Elements, terminals, fuses, motors and sensor wiring in live cabinets are for a licensed electrician only.',
    es: 'Resistencias, bornes, fusibles, motores y cableado de sensores en armarios con tensión son solo para un electricista autorizado.',
  },
  'no-water-in-solder': {
    'en-US': 'Keep water, wet tools and damp solder bars away from molten solder: steam throws it out of the pot.',
    es: 'Mantenga el agua, las herramientas mojadas y los lingotes húmedos lejos de la soldadura fundida: el vapor la proyecta fuera del crisol.',
  },
  'pot-always-hot': {
    'en-US': 'Treat the pot as hot at all times. It stays molten for many hours after it is switched off.',
    es: 'Trate el crisol siempre como caliente. Sigue fundido muchas horas después de apagarlo.',
  },
  'hot-parts': {
    'en-US': 'Let preheat parts cool below 50 °C before you touch them; 30 to 60 minutes are usual. Measure, do not guess.',
    es: 'Deje enfriar las piezas del precalentador por debajo de 50 °C antes de tocarlas; lo habitual son de 30 a 60 minutos. Mida, no adivine.',
  },
  'pinch-points': {
    'en-US': 'Never clean, touch or lubricate a running chain. Jog only with the guards on and a second person at the stop. No loose clothing, no rings.',
    es: 'Nunca limpie, toque ni lubrique una cadena en marcha. Avance a impulsos solo con los resguardos puestos y una segunda persona en el paro. Sin ropa suelta ni anillos.',
  },
  'bleed-pressure': {
    'en-US': 'Bleed flux and air pressure before you open a fitting, and wear goggles: flux under pressure sprays.',
    es: 'Descargue la presión de flux y de aire antes de abrir un racor y use gafas: el flux a presión salpica.',
  },
  // Isopropyl alcohol: flash point 12 °C, explosive limits 2.0-12.7 % [S3, NIOSH Pocket Guide]
  'fire-solvent': {
    'en-US': 'Alcohol is discouraged for machine cleaning: its vapor ignites at room temperature. If your site uses it at all: cold machine, isolated, ventilated, no ignition source, small closed dispenser, metal waste can, local fire code.',
    es: 'Se desaconseja el alcohol para limpiar la máquina: su vapor se inflama a temperatura ambiente. Si su planta lo usa: máquina fría, aislada, ventilada, sin fuentes de ignición, dosificador pequeño y cerrado, cubo metálico para residuos y norma local contra incendios.',
  },
  'fire-flux': {
    'en-US': 'Many fluxes are alcohol based: keep flames, sparks and hot parts away and leave the extraction on.',
    es: 'Muchos fluxes llevan alcohol: aleje llamas, chispas y piezas calientes y deje la extracción en marcha.',
  },
  // Flux residue in ducts is a fire load [S8]
  'fire-ducts': {
    'en-US': 'Flux residue in filters and ducts burns. No hot work near it, and dispose of it as the local rules say.',
    es: 'El residuo de flux en filtros y conductos arde. Nada de trabajos en caliente cerca, y elimínelo según las reglas locales.',
  },
  'solder-protection': {
    'en-US': 'At the pot wear a face shield, heat-resistant gloves, an apron and closed shoes.',
    es: 'Junto al crisol use pantalla facial, guantes resistentes al calor, delantal y calzado cerrado.',
  },
  'cleaner-protection': {
    'en-US': 'Read the safety data sheet of the cleaner in your hand, and wear the chemical gloves and goggles it asks for.',
    es: 'Lea la ficha de datos de seguridad del limpiador que va a usar y póngase los guantes químicos y las gafas que indica.',
  },
  // UK limit for rosin fume 0.05 mg/m3 (8 h) and 0.15 mg/m3 (15 min) [S17]
  'flux-fume': {
    'en-US': 'Flux fume can cause asthma. Keep the extraction running while you clean and work upwind of the residue.',
    es: 'Los humos de flux pueden causar asma. Mantenga la extracción en marcha mientras limpia y no se coloque sobre el residuo.',
  },
  // US lead limit 50 and action level 30 ug/m3 (29 CFR 1910.1025) [S18]
  'lead-and-dross-dust': {
    'en-US': 'Dross dust harms, with lead and without. Do not brush it dry or blow it: use a HEPA vacuum, closed labeled containers, wash your hands, no food or smoking.',
    es: 'El polvo de escoria daña, con plomo y sin él. No lo barra en seco ni lo sople: use aspirador HEPA y recipientes cerrados y etiquetados, lávese las manos, no coma ni fume.',
  },
  'dry-before-heat': {
    'en-US': 'No liquid on hot or porous ceramic. Let everything dry fully before the heat goes on.',
    es: 'Nada de líquido sobre cerámica caliente o porosa. Deje secar todo por completo antes de conectar el calor.',
  },
  // Conflicting reports on wetting; harm to coating and bonding is undisputed [S3b]
  'silicone-free': {
    'en-US': 'Use only the lubricant the chain is specified for, and none that holds silicone: it harms soldering, bonding and coating.',
    es: 'Use solo el lubricante especificado para la cadena y ninguno con silicona: perjudica la soldadura, el pegado y el recubrimiento.',
  },
  'rust-after-wash': {
    'en-US': 'A washed chain has no protection and rusts within hours. Dry it warm and lubricate it within the hour; until then the line must not run.',
    es: 'Una cadena lavada no tiene protección y se oxida en horas. Séquela en caliente y lubríquela en menos de una hora; hasta entonces la línea no debe arrancar.',
  },
  'heavy-parts': {
    'en-US': 'The parts are heavy and awkward: lift with two people or a hoist, never over an open pot.',
    es: 'Las piezas pesan y son incómodas: levántelas entre dos o con un polipasto, nunca sobre un crisol abierto.',
  },
  'hung-up-boards': {
    'en-US': 'Boards that stand in the heat or over the wave can burn: do not reach in over the wave. Turn heat and wave down as the machine’s manual says, keep people back, and have a fire extinguisher suited to the place at hand.',
    es: 'Las placas paradas en el calor o sobre la ola pueden arder: no meta las manos sobre la ola. Baje el calor y la ola según el manual de la máquina, mantenga a la gente apartada y tenga a mano un extintor adecuado al lugar.',
  },
  'own-alarms-protect': {
    'en-US': 'This message may come late or not at all. The machine’s own alarms and interlocks, and the people at the line, remain the protection.',
    es: 'Este mensaje puede llegar tarde o no llegar. La protección siguen siendo las alarmas y enclavamientos propios de la máquina y las personas junto a la línea.',
  },
  'other-rules-win': {
    'en-US': "Where this text and the machine's manual, the safety data sheet or the local rules differ, those win.",
    es: 'Si este texto y el manual de la máquina, la ficha de seguridad o las reglas locales no coinciden, valen estos.',
  },
  'advice-only': {
    'en-US': 'This is advice. It does not command the machine. Do not answer it with more heat, less speed or a bypassed guard.',
    es: 'Esto es un consejo. No manda sobre la máquina. No responda con más calor, menos velocidad ni resguardos puenteados.',
  },
}

/** Steps before the work, in order; which of them a job needs stands in the catalogue. */
export const ISOLATION_TEXTS: Readonly<Record<IsolationStep, InLanguages<string>>> = {
  'stop-and-note': {
    'en-US': 'Stop production, let the line clear, and note the readings: they are the state before the work.',
    es: 'Pare la producción, deje que la línea se vacíe y anote las lecturas: son el estado antes del trabajo.',
  },
  'isolate-electricity': {
    'en-US': 'Switch off, lock and tag the electricity. Each person puts on an own lock.',
    es: 'Desconecte, bloquee y etiquete la electricidad. Cada persona pone su propio candado.',
  },
  'isolate-air-and-bleed': {
    'en-US': 'Shut, lock and tag compressed air and flux supply, and bleed the pressure.',
    es: 'Cierre, bloquee y etiquete el aire comprimido y el flux, y descargue la presión.',
  },
  'verify-zero-energy': {
    'en-US': 'Verify that nothing is live, under pressure or able to move.',
    es: 'Compruebe que nada tiene tensión ni presión ni puede moverse.',
  },
  'cool-down': {
    'en-US': 'Wait until the parts are below 50 °C: measure.',
    es: 'Espere a que las piezas estén por debajo de 50 °C: mida.',
  },
  'cover-pot': {
    'en-US': 'Cover the pot before you work above or beside it.',
    es: 'Cubra el crisol antes de trabajar encima o al lado.',
  },
}

/** Steps before the line runs again, in order. */
export const RETURN_TEXTS: Readonly<Record<ReturnStep, InLanguages<string>>> = {
  'guards-on': { 'en-US': 'Put every guard and cover back on.', es: 'Vuelva a montar todos los resguardos y tapas.' },
  'tools-and-rags-out': { 'en-US': 'Count the tools and rags out of the machine.', es: 'Cuente y retire de la máquina herramientas y trapos.' },
  'people-clear': { 'en-US': 'See that everybody is clear of the machine and knows it will start.', es: 'Vea que todos están apartados de la máquina y saben que va a arrancar.' },
  'isolation-removed-by-owner': { 'en-US': 'Each owner removes the own lock and tag, nobody else.', es: 'Cada dueño retira su propio candado y etiqueta, nadie más.' },
  'empty-run': { 'en-US': 'Run empty, watch and listen, before the first board.', es: 'Haga funcionar la línea en vacío, mire y escuche, antes de la primera placa.' },
}
