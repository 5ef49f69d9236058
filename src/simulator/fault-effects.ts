import type { FaultLedger } from './fault-ledger.js'

/** What the severities do to the physics. Neutral values: 1 for factors, 0 for additions. Zone arrays start at index 0. */
export interface FaultEffects {
  /** Relative air flow of the blower. */
  readonly flow: Float64Array
  readonly blowerCurrentFactor: Float64Array
  /** Cleanliness coupling of the element. */
  readonly coupling: Float64Array
  readonly extraction: Float64Array
  readonly elementPower: Float64Array
  readonly coating: Float64Array
  exhaustShare: number
  rails: number
  chain: number
  dry: number
  sticky: number
  greaseHotHours: number
  sprocket: number
  bearing: number
  drive: number
  fingers: number
  intake: number
  potOffsetC: number
  potElementPower: number
  nozzle: number
  nozzleAxis: number
  seal: number
  sealMeterDownstream: boolean
  hose: number
  hoseBent: boolean
  doseFactor: number
  fanWidthFactor: number
  stroke: number
  drips: number
}

export function neutralEffects(zoneCount: number): FaultEffects {
  const ones = (): Float64Array => new Float64Array(zoneCount).fill(1)
  return {
    flow: ones(),
    blowerCurrentFactor: ones(),
    coupling: ones(),
    extraction: ones(),
    elementPower: ones(),
    coating: new Float64Array(zoneCount),
    exhaustShare: 1,
    rails: 0,
    chain: 0,
    dry: 0,
    sticky: 0,
    greaseHotHours: 0,
    sprocket: 0,
    bearing: 0,
    drive: 0,
    fingers: 0,
    intake: 0,
    potOffsetC: 0,
    potElementPower: 1,
    nozzle: 0,
    nozzleAxis: 0,
    seal: 0,
    sealMeterDownstream: false,
    hose: 0,
    hoseBent: false,
    doseFactor: 1,
    fanWidthFactor: 1,
    stroke: 0,
    drips: 0,
  }
}

/** One leg of a three-phase element lost [ASM]. */
const LEG_LOST_SHARE = 1 / 3
/** The hood draws part of zone 1's air; how much of it is lost with the hood's filter [ASM]. */
const HOOD_SHARE_OF_ZONE_1 = 0.3

/** Severity to physics, table B7 of the process knowledge; all sizes [ASM]. */
export function updateEffects(effects: FaultEffects, ledger: FaultLedger, blowers: readonly ('fixed-speed' | 'constant-flow')[]): void {
  const filter = ledger.severityOf('saturated-filter')
  effects.exhaustShare = 1 - 0.6 * filter
  effects.drips = filter > 0.5 ? 2 * filter - 1 : 0
  for (let index = 0; index < effects.flow.length; index += 1) {
    const zone = index + 1
    const blower = ledger.severityOf('clogged-blower', zone)
    const vents = ledger.severityOf('blocked-vents', zone)
    const outlet = ledger.variantOf('blocked-vents', zone) === 'outlet'
    const constantFlow = blowers[index] === 'constant-flow'
    // A constant-flow motor makes up for most of the clogging by speed, at the cost of current [sign S21, size ASM].
    effects.flow[index] = (1 - (constantFlow ? 0.25 : 0.7) * blower) * (outlet ? 1 - 0.5 * vents : 1)
    effects.blowerCurrentFactor[index] = constantFlow ? 1 + 0.2 * blower : 1 - 0.35 * blower
    effects.coupling[index] = 1 - 0.6 * ledger.severityOf('coated-emitter', zone)
    effects.extraction[index] = (outlet ? 1 : 1 - 0.6 * vents) * (index === 0 ? 1 - 0.6 * HOOD_SHARE_OF_ZONE_1 * filter : 1)
    const element = ledger.severityOf('ageing-element', zone)
    effects.elementPower[index] = ledger.variantOf('ageing-element', zone) === 'leg-lost' ? 1 - LEG_LOST_SHARE * element : 1 - 0.5 * element
    effects.coating[index] = ledger.severityOf('coated-thermocouple', zone)
  }
  effects.rails = ledger.severityOf('dirty-rails')
  effects.chain = ledger.severityOf('dirty-chain')
  effects.dry = ledger.severityOf('dry-chain')
  effects.sticky = ledger.severityOf('sticky-grease')
  effects.greaseHotHours = ledger.greaseHotHours
  effects.sprocket = ledger.severityOf('worn-sprocket')
  effects.bearing = ledger.severityOf('worn-bearing')
  effects.drive = ledger.severityOf('worn-drive')
  effects.fingers = ledger.severityOf('residue-on-fingers')
  effects.intake = ledger.severityOf('dross-at-intake')
  const probe = ledger.severityOf('drifting-pot-probe')
  effects.potOffsetC = (ledger.variantOf('drifting-pot-probe') === 'reads-low' ? -8 : 8) * probe
  const potElement = ledger.severityOf('ageing-element')
  effects.potElementPower = ledger.variantOf('ageing-element') === 'leg-lost' ? 1 - LEG_LOST_SHARE * potElement : 1 - 0.5 * potElement
  updateFluxerEffects(effects, ledger)
}

function updateFluxerEffects(effects: FaultEffects, ledger: FaultLedger): void {
  effects.nozzle = ledger.severityOf('clogged-nozzle')
  effects.nozzleAxis = ledger.severityOf('misoriented-nozzle')
  effects.seal = ledger.severityOf('leaking-seal')
  effects.sealMeterDownstream = ledger.variantOf('leaking-seal') === 'downstream-meter'
  effects.hose = ledger.severityOf('bad-flux-hose')
  effects.hoseBent = ledger.variantOf('bad-flux-hose') === 'bent'
  const dosing = ledger.severityOf('dosing-off')
  const form = ledger.variantOf('dosing-off') ?? 'gap'
  effects.doseFactor = form === 'overlap' ? 1 + 0.3 * dosing : form === 'gap' ? 1 - 0.3 * dosing : 1
  effects.fanWidthFactor = form === 'narrow-fan' ? 1 - 0.4 * dosing : 1
  effects.stroke = ledger.severityOf('stroke-too-wide')
}
