import type { BenignId, FaultId } from '../causes.js'
import type { CellCondition, CellEffect, EffectCode, MatrixCell, MatrixColumn, MatrixRow } from './fault-table.js'

const METERED: CellCondition = { feed: 'metered-pump' }
const PRESSURE: CellCondition = { feed: 'pressure' }
const IN_AIR: CellCondition = { thermocouple: ['board-air', 'heater-outlet'] }
const AT_BOARD: CellCondition = { thermocouple: ['board-air'] }
const AT_OUTLET: CellCondition = { thermocouple: ['heater-outlet'] }
const ON_ELEMENT: CellCondition = { thermocouple: ['on-element'] }
const FIXED_SPEED: CellCondition = { blower: 'fixed-speed' }
const CONSTANT_FLOW: CellCondition = { blower: 'constant-flow' }

/** Effects in short: code, sign (`±` where it can be either), strength, and after `@` the part of the channel. */
function fx(list: string, when?: CellCondition): CellEffect[] {
  return list.split(' ').map((word) => {
    const match = /^([A-Za-z]+)([+\-±])(0\.5|[123])(?:@([a-z-]+))?$/.exec(word)
    if (match === null) throw new Error(`fault table: effect "${word}" is not understood; expected e.g. "M-2" or "P+2@loop"`)
    const [, code, sign, strength, part] = match
    return {
      code: code as EffectCode,
      direction: sign === '+' ? 'up' : sign === '-' ? 'down' : 'either',
      strength: Number(strength),
      ...(part === undefined ? {} : { part }),
      ...(when === undefined ? {} : { when }),
    }
  })
}

function cell(text: string, ...effects: CellEffect[][]): MatrixCell {
  return { text, effects: effects.flat() }
}

type Cells = Partial<Record<MatrixColumn, MatrixCell>>

function row(id: string, cause: FaultId | BenignId, name: string, section: string, timeScale: string, cells: Cells, simulated: MatrixColumn[] = []): MatrixRow {
  return { id, cause, name, section, timeScale, simulated, cells }
}

const THERMAL: MatrixColumn[] = ['Tz', 'Uz', 'Tb']
const DRIVE: MatrixColumn[] = ['v', 'Im']

const FLUXER_ROWS: MatrixRow[] = [
  row('F01', 'clogged-nozzle', 'Clogged flux nozzle', 'fluxer', 'h-d', {
    Qf: cell('M-3 V+2 T- (P); M0 V+1 (M)', fx('M-3 V+2 T-1', PRESSURE), fx('V+1', METERED)),
    Pf: cell('M0 (P); M+3 T+ (M)', fx('M+3 T+1', METERED)),
    Cf: cell('M-2 V+1 (P); 0 (M)', fx('M-2 V+1', PRESSURE)),
    D: cell('skips +2, hole fill -2, random over board', fx('M+2@skips M+2@hole-fill')),
  }),
  row('F02', 'misoriented-nozzle', 'Mis-oriented nozzle', 'fluxer', 'step', {
    D: cell('skips +2 / residue +1, one side or one edge, repeatable', fx('M+2@skips M+1@residue')),
  }),
  row('F03', 'leaking-seal', 'Worn O-ring: leak / pressure loss', 'fluxer', 'd-w', {
    // Where the meter sits against the leak is not in the definition: either sign.
    Qf: cell('M+1 if meter upstream of leak, M-2 if downstream', fx('M±2')),
    Pf: cell('M-2 V+1; idle pressure decay +3', fx('M-2 V+1 decay+3')),
    Cf: cell('M+2 upstream meter, deposit falls', fx('M+2')),
    D: cell('skips +1', fx('M+1@skips')),
  }),
  row('F04', 'saturated-filter', 'Saturated exhaust filter, dripping', 'fluxer', 'w', {
    Tz: cell('S+1', fx('S+1')),
    Uz: cell('M-1 zone 1 (less air drawn)', fx('M-1', { zone: 1 })),
    Im: cell('T+1 after days (drips on chain)', fx('T+1')),
    D: cell('residue spots +2, solder balls +1, irregular', fx('M+2@residue M+1@balls')),
  }),
  row('F05', 'bad-flux-hose', 'Bent or dirty supply hose', 'fluxer', 'step (bent) / w (dirty)', {
    Qf: cell('M-2; P2 at stroke frequency if bent', fx('M-2 P+2@stroke')),
    Pf: cell('M-1 at head V+2; P2 at stroke frequency (P); M+2 at pump (M)', fx('M-1 V+2 P+2@stroke', PRESSURE), fx('M+2', METERED)),
    Cf: cell('M-1', fx('M-1')),
    D: cell('skips +1, worse at one end of the stroke', fx('M+1@skips')),
  }),
  row('F06', 'dosing-off', 'Dosing out of calibration (gap / overlap)', 'fluxer', 'd-w or step', {
    Qf: cell('M-1/+1', fx('M±1')),
    Cf: cell('M-2 (gap) / M+2 (overlap), T1', fx('M±2 T±1')),
    D: cell('stripes: skips +2 (gap) / residue +2, bridges -1 (overlap)', fx('M+2@skips M+2@residue M-1@bridges')),
  }),
  row('F07', 'stroke-too-wide', 'Spray stroke too wide (flux on chain)', 'fluxer', 'step, then days', {
    v: cell('V+1 T+ days later', fx('V+1 T+1')),
    Im: cell('T+1 days later', fx('T+1')),
    Cf: cell('M+1 at unchanged deposit', fx('M+1')),
    D: cell('residue +1 at board edges', fx('M+1@residue')),
  }),
]

const PREHEAT_ROWS: MatrixRow[] = [
  row(
    'F08', 'clogged-blower', 'Blower clogged by flux deposit', 'preheat', 'w',
    {
      Tz: cell('0 (PID hides it)'),
      Uz: cell('M+1 (TC at board level) / M-2 (TC at heater outlet)', fx('M+1', AT_BOARD), fx('M-2', AT_OUTLET)),
      Ib: cell('I M-2 (fixed-speed centrifugal) / I M+1, n M+2 (constant-flow control) / V+1 imbalance', fx('M-2@current', FIXED_SPEED), fx('M+1@current M+2@speed', CONSTANT_FLOW), fx('V+1')),
      Tb: cell('M-2 T-', fx('M-2 T-1')),
      D: cell('hole fill -2, skips +1', fx('M+2@hole-fill M+1@skips')),
    },
    THERMAL,
  ),
  row(
    'F09', 'coated-emitter', 'Emitter or heated rod coated', 'preheat', 'd-w',
    {
      Tz: cell('0 until duty limit'),
      Uz: cell('M+1 T+ (TC in air; +2 when severe) / M-1 (TC on element)', fx('M+1 T+1', IN_AIR), fx('M-1', ON_ELEMENT)),
      Tb: cell('M-2 T-', fx('M-2 T-1')),
      D: cell('hole fill -1', fx('M+1@hole-fill')),
    },
    THERMAL,
  ),
  row(
    'F10', 'blocked-vents', 'Vent holes partly blocked', 'preheat', 'w',
    {
      Tz: cell('S+1; low-SP zone M+1 above SP with duty 0', fx('S+1 M+1')),
      // Extraction vents or outlet holes: the definition does not say which, so either sign.
      Uz: cell('M-2 (extraction vents) / M+1 (hot-air outlet holes)', fx('M±2')),
      Tb: cell('M-1, S+2 across width', fx('M-1 S+2')),
      D: cell('hole fill -1, residue +1', fx('M+1@hole-fill M+1@residue')),
    },
    THERMAL,
  ),
  row(
    'F11', 'coated-thermocouple', 'Thermocouple coated', 'preheat', 'w-months, step after drip',
    {
      Tz: cell('R+3, HF V-2, LF V+2, overshoot +2, mean 0', fx('R+3 HF-2 LF+2 overshoot+2')),
      Uz: cell('V+2, P1 (3-8 min swing)', fx('V+2 P+1@swing')),
      Tb: cell('V+2, M+/-1 (sign depends on zone type)', fx('V+2 M±1')),
      D: cell('hole fill spread +1', fx('V+1@hole-fill')),
    },
    THERMAL,
  ),
  row(
    'F21', 'ageing-element', 'Heater element ageing (zone or pot)', 'preheat or pot', 'w-months; step if one leg fails',
    {
      Tz: cell('M-2 only when duty = 100 %; warm-up R+3', fx('M-2@saturated R+3@warm-up')),
      Tp: cell('same for pot', fx('M-2@saturated R+3@warm-up')),
      Uz: cell('M+3 T+ V+1', fx('M+3 T+1 V+1')),
      Up: cell('M+3 T+ (pot element)', fx('M+3 T+1')),
      Tb: cell('M-1 if saturated', fx('M-1@saturated')),
      D: cell('hole fill -1 if saturated', fx('M+1@hole-fill')),
    },
    THERMAL,
  ),
]

const TRANSPORT_ROWS: MatrixRow[] = [
  row(
    'F12', 'dirty-rails', 'Dirty rails (drag)', 'transport', 'd-w',
    {
      v: cell('V+1, J1, P1 at finger-pass frequency', fx('V+1 J+1 P+1@finger')),
      Im: cell('M+2 T+ V+1, does not fall when warm', fx('M+2 T+1 V+1')),
      Tb: cell('V+1', fx('V+1')),
      D: cell('skips +1', fx('M+1@skips')),
    },
    DRIVE,
  ),
  row(
    'F13', 'dirty-chain', 'Dirty chain (stick-slip, jumps)', 'transport', 'd-w',
    {
      v: cell('V+3, J3, P2 at chain-loop period', fx('V+3 J+3 P+2@loop')),
      Im: cell('M+2 V+3', fx('M+2 V+3')),
      Tb: cell('V+1', fx('V+1')),
      N: cell('V+1 interval jitter', fx('V+1')),
      D: cell('bridges +2, skips +2', fx('M+2@bridges M+2@skips')),
    },
    DRIVE,
  ),
  row(
    'F14', 'dry-chain', 'Dry chain (no / insufficient lubricant)', 'transport', 'h-d, often straight after washing',
    {
      v: cell('V+2, J2', fx('V+2 J+2')),
      Im: cell('M+3 V+2, rises from the wash on', fx('M+3 V+2')),
      D: cell('bridges +1, skips +1', fx('M+1@bridges M+1@skips')),
    },
    DRIVE,
  ),
  row(
    'F15', 'sticky-grease', 'Wrong grease turned sticky', 'transport', 'w',
    {
      v: cell('V0/+1 when hot, J2 at cold start', fx('V+0.5 J+2@cold')),
      Im: cell('M+3; cold M+3 then falls with warm-up (X with rail temperature)', fx('M+3 M+3@cold X-1')),
      D: cell('residue +1, dewetting if silicone', fx('M+1@residue')),
    },
    DRIVE,
  ),
  row('F16', 'residue-on-fingers', 'Residue on fingers (board inclination)', 'transport', 'd-w', {
    Im: cell('0/+1', fx('M+0.5')),
    Tb: cell('S+1 left-right', fx('S+1@sides')),
    D: cell('side-to-side: skips +2, bridges +2; pattern repeats with finger set', fx('M+2@skips M+2@bridges')),
  }),
  row(
    'F17a', 'worn-sprocket', 'Worn sprocket / stretched chain', 'transport', 'months',
    {
      v: cell('P3 at tooth and sprocket-revolution frequency, V+1', fx('P+3@tooth P+3@turn V+1')),
      Im: cell('P2 same frequencies', fx('P+2@tooth P+2@turn')),
      N: cell('V0/+1', fx('V+0.5')),
      D: cell('+1', fx('M+1@any')),
    },
    DRIVE,
  ),
  row('F17b', 'worn-bearing', 'Worn bearing', 'transport', 'w-months', {
    v: cell('V+1', fx('V+1')),
    Im: cell('M+1 T+ V+1, not cured by cleaning', fx('M+1 T+1 V+1')),
    D: cell('0/+1', fx('M+0.5@any')),
  }),
  row('F17c', 'worn-drive', 'Worn drive motor / gearbox', 'transport', 'w-months', {
    v: cell('M-1 below SP under load, V+1, slow recovery R+1', fx('M-1 V+1 R+1')),
    Im: cell('M+2, saturates', fx('M+2')),
    D: cell('+1', fx('M+1@any')),
  }),
]

const POT_ROWS: MatrixRow[] = [
  row('F18', 'low-level', 'Low solder level', 'pot', 'h', {
    L: cell('M-3 T-', fx('M-3 T-1')),
    Tp: cell('V+1 (less mass)', fx('V+1')),
    Up: cell('V+1', fx('V+1')),
    np: cell('M+1 if wave height is controlled', fx('M+1')),
    hw: cell('M-1; M-3 V+3 when the intake draws dross/air', fx('M-1 M-3@drawing V+3@drawing')),
    D: cell('skips +3, inclusions +1', fx('M+3@skips M+1@inclusions')),
  }),
  row('F19', 'dross-at-intake', 'Dross build-up in pot / pump intake', 'pot', 'd', {
    L: cell('T-1 steeper; M+1 false high if float rides on dross', fx('T-1 M+1')),
    Tp: cell('V+1', fx('V+1')),
    Up: cell('0/+1', fx('M+0.5')),
    np: cell('M+2 T+ (height controlled)', fx('M+2 T+1')),
    hw: cell('M-2 T- V+2', fx('M-2 T-1 V+2')),
    D: cell('bridges +2, icicles +1, skips +2', fx('M+2@bridges M+1@icicles M+2@skips')),
  }),
  row('F20', 'drifting-pot-probe', 'Pot thermocouple drift', 'pot', 'months', {
    L: cell('T-1 if hotter (more dross)', fx('T-1')),
    Tp: cell('0 at reading (true value off)'),
    Up: cell('M+1 (true hotter) / M-1 (true colder)', fx('M±1')),
    D: cell('bridges +1 / hole fill -2 if colder', fx('M+1@bridges M+2@hole-fill')),
  }),
]

const BENIGN_ROWS: MatrixRow[] = [
  row('B01', 'changeover', 'Product changeover', 'benign', 'step', {
    Tz: cell('step M+/-3 following SP', fx('M±3')),
    v: cell('step', fx('M±3')),
    Uz: cell('step', fx('M±3')),
    SP: cell('step, several channels in one minute', fx('M±3')),
    Qf: cell('step', fx('M±3')),
    Cf: cell('step', fx('M±3')),
    np: cell('step possible', fx('M±1')),
    hw: cell('step possible', fx('M±1')),
    Tb: cell('step', fx('M±3')),
    N: cell('cycle change', fx('M±2')),
    D: cell('step (other mix)', fx('M±2@any')),
  }),
  row(
    'B02', 'ambient-or-exhaust', 'Ambient draught / exhaust change', 'benign', 'min-h, day rhythm',
    {
      Tz: cell('LF V+2 in ALL zones together (X between zones)', fx('LF+2 X+2')),
      Uz: cell('M+2/-2 all zones same sign', fx('M±2')),
      Tb: cell('V+1', fx('V+1')),
      D: cell('0/+1', fx('M+0.5@any')),
    },
    THERMAL,
  ),
  row(
    'B03', 'idle', 'Line stop / idle', 'benign', 'min-h',
    {
      Tz: cell('LF V-2 (no board load)', fx('LF-2')),
      v: cell('0 or unchanged', fx('M-1')),
      L: cell('slower fall (dross only); +1..3 mm if pump stops', fx('T+1 M+1')),
      Uz: cell('M-1', fx('M-1')),
      Im: cell('falls', fx('M-1')),
      Pf: cell('hold'),
      np: cell('0 or standby', fx('M-2')),
      N: cell('0 boards', fx('M-3')),
    },
    THERMAL,
  ),
  row(
    'B04', 'board-load', 'Board loading density', 'benign', 'min-h',
    {
      Tz: cell('LF V+2, P1 at batch period (X with N)', fx('LF+2 P+1@batch X+1')),
      L: cell('slope scales with N', fx('T±1')),
      Uz: cell('M+1 V+2', fx('M+1 V+2')),
      Up: cell('M+1', fx('M+1')),
      Im: cell('M+1 small', fx('M+1')),
      Tb: cell('V+1', fx('V+1')),
      N: cell('rate change', fx('M±3')),
    },
    THERMAL,
  ),
  row('B05', 'setpoint-edit', 'Operator set-point edit', 'benign', 'step', {
    Tz: cell('step, then sd as before', fx('M±3')),
    v: cell('step if speed SP', fx('M±3')),
    Uz: cell('step', fx('M±3')),
    SP: cell('step, one channel', fx('M±3')),
    Tb: cell('step', fx('M±3')),
    D: cell('may shift', fx('M±1@any')),
  }),
  row('B06', 'dropout', 'Sensor dropout', 'benign', 's-h', {
    // Frozen: the fast part is gone at once; 0 or full scale: a mean far off.
    Tz: cell('gap, frozen value (sd exactly 0), 0, or full scale; one channel', fx('HF-3 M±2')),
    v: cell('same', fx('V-3 M±2')),
    L: cell('same', fx('M±2')),
    Tp: cell('same', fx('V-3 M±2')),
    Uz: cell('jumps to 0/100 % if it is the control sensor', fx('M±2')),
  }),
  row('B07', 'top-up', 'Alloy top-up', 'benign', '1-15 min', {
    L: cell('step +2..3 mm per 5 kg bar (A = 0.27 m2)', fx('M+3')),
    Tp: cell('dip 1-4 C', fx('M-2')),
    Up: cell('up 5-15 min', fx('M+2')),
    hw: cell('M+1', fx('M+1')),
  }),
  row('B08', 'warm-up', 'Start-up warm-up', 'benign', '20-180 min', {
    Tz: cell('ramp, overshoot', fx('M±2 overshoot+1')),
    L: cell('rises a little (expansion, melt)', fx('T+1')),
    Tp: cell('ramp + melt plateau', fx('M-2')),
    Uz: cell('100 %', fx('M+3')),
    Up: cell('100 %', fx('M+3')),
    Im: cell('falls as lubricant warms', fx('M+1@cold')),
  }),
  row('B09', 'pump-switched', 'Pump start / stop (level shift)', 'benign', 'step', {
    L: cell('M-1..3 mm when wave runs', fx('M±2')),
    np: cell('step', fx('M±3')),
    hw: cell('on/off', fx('M±3')),
  }),
  row('B10', 'run-in', 'Maintenance just done (run-in)', 'benign', '1-2 h', {
    Tz: cell('V+1 short', fx('V+1')),
    v: cell('V+1 short (excess lubricant, wet)', fx('V+1')),
    L: cell('may step (skimmed dross)', fx('M±1')),
    Im: cell('M+/-1 short', fx('M±1')),
  }),
]

/** The matrix row by row; every cell is compared with `fixtures/process-matrix.csv` by a test. */
export const FAULT_ROWS: readonly MatrixRow[] = [...FLUXER_ROWS, ...PREHEAT_ROWS.slice(0, 4), ...TRANSPORT_ROWS, ...POT_ROWS, ...PREHEAT_ROWS.slice(4), ...BENIGN_ROWS]
