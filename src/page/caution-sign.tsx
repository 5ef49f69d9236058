/** Warning signs after ISO 7010: a triangle with a black rim and a simple drawing. The words beside them say the same. */

type Sign = 'general' | 'electricity' | 'hot' | 'flammable' | 'crushing' | 'fume' | 'heavy'

/** Which sign goes with which caution; those without one show the general sign. */
const SIGN_OF: Readonly<Record<string, Sign>> = {
  'isolate-and-verify': 'electricity',
  'licensed-electrician': 'electricity',
  'no-water-in-solder': 'hot',
  'pot-always-hot': 'hot',
  'hot-parts': 'hot',
  'pinch-points': 'crushing',
  'fire-solvent': 'flammable',
  'fire-flux': 'flammable',
  'fire-ducts': 'flammable',
  'flux-fume': 'fume',
  'lead-and-dross-dust': 'fume',
  'dry-before-heat': 'hot',
  'heavy-parts': 'heavy',
}

const DRAWING: Readonly<Record<Sign, string>> = {
  // An exclamation mark.
  general: 'M22.5 17h3l-.7 13h-1.6zM22.6 32h2.8v2.8h-2.8z',
  // A bolt.
  electricity: 'M26 15l-6 12h4l-2 10 7-13h-4l3-9z',
  // Three waves over a plate.
  hot: 'M13 35h22v2.4H13zM17 33c-2-3 2-5 0-9h2c2 4-2 6 0 9zM23 33c-2-3 2-5 0-9h2c2 4-2 6 0 9zM29 33c-2-3 2-5 0-9h2c2 4-2 6 0 9z',
  // A flame.
  flammable: 'M24 15c1 5 6 7 6 14a6 6 0 0 1-12 0c0-3 2-4 2-7 2 1 2 3 2 4 2-3 3-6 2-11zM16 37h16v2H16z',
  // Two rollers that draw in.
  crushing: 'M19 21a5 5 0 1 0 .1 0zM30 27a5 5 0 1 0 .1 0zM13 19h8v2h-8z',
  // Three plumes.
  fume: 'M17 37c-3-5 3-8 0-14h2.4c3 6-3 9 0 14zM23 37c-3-6 3-10 0-17h2.4c3 7-3 11 0 17zM29 37c-3-5 3-8 0-14h2.4c3 6-3 9 0 14z',
  // A weight.
  heavy: 'M16 37l3-13h10l3 13zM21 24a3 3 0 1 1 6 0h-2a1 1 0 1 0-2 0z',
}

/** Which sign a caution of the catalogue carries; several carry the same. */
export function signOf(caution: string): Sign {
  return SIGN_OF[caution] ?? 'general'
}

/** The sign of a caution of the catalogue. */
export function CautionSign({ caution }: { readonly caution: string }) {
  return (
    <svg class="caution-sign" viewBox="0 0 48 44" width="32" height="29" aria-hidden="true" focusable="false">
      <path d="M24 2L46 41H2z" class="sign-ground" />
      <path d={DRAWING[signOf(caution)]} class="sign-ink" />
    </svg>
  )
}
