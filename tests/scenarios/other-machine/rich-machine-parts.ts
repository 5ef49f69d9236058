import { chanceStream } from './other-machine.js'

/** Parts of a second machine with all channels. Effects of faults follow the process knowledge (B2-B7), the rest is modelled apart from the simulator. [ASM] */

export interface Chance {
  readonly between: (low: number, high: number) => number
  readonly normal: () => number
  readonly oneIn: (n: number) => boolean
  /** A count with a variance of `ratio` times its mean. */
  readonly count: (mean: number, ratio: number) => number
}

/** Severity of a fault, of one zone where it has one. */
export type SeverityOf = (kind: string, zone?: number) => number

export function chanceOf(seed: number): Chance {
  const chance = chanceStream(seed)
  for (let draw = 0; draw < 8; draw += 1) chance()
  const normal = (): number => Math.sqrt(-2 * Math.log(1 - chance())) * Math.cos(2 * Math.PI * chance())
  const poisson = (mean: number): number => {
    let [term, sum, count] = [Math.exp(-mean), Math.exp(-mean), 0]
    for (const wanted = chance(); wanted > sum && count < 60; sum += term) term *= mean / (count += 1)
    return count
  }
  // Gamma by Marsaglia and Tsang's squeeze, a Poisson count of it on top: overdispersed.
  const gamma = (shape: number): number => {
    if (shape < 1) return gamma(shape + 1) * (1 - chance()) ** (1 / shape)
    const d = shape - 1 / 3
    for (;;) {
      const x = normal()
      const v = (1 + x / Math.sqrt(9 * d)) ** 3
      if (v > 0 && Math.log(1 - chance()) < 0.5 * x * x + d - d * v + d * Math.log(v)) return d * v
    }
  }
  return {
    between: (low, high) => low + (high - low) * chance(),
    normal,
    oneIn: (n) => chance() < 1 / n,
    count: (mean, ratio) => (mean > 0 ? poisson(gamma(mean / (ratio - 1)) * (ratio - 1)) : 0),
  }
}

/** A zone with a heater body and air at board level; the controller follows its limit back within a few minutes. */
export class HotAirZone {
  airC = 24
  dutyShown = 0
  readonly blowerA: number
  private heaterC = 24
  private sensorC = 24
  private integral = 0
  private duty = 0
  private gustC = 0
  private readonly draw: Readonly<Record<'heaterJ' | 'airJ' | 'couplingW' | 'wallW' | 'lossW' | 'maxW' | 'lagS' | 'gain' | 'integralS' | 'gustS' | 'gustC' | 'biasC', number>>

  constructor(private readonly number: number, private readonly chance: Chance, hottestC: number) {
    const { between } = chance
    const [lossW, wallW] = [between(10, 26), between(3, 9)]
    this.blowerA = between(0.8, 2.6)
    this.draw = {
      heaterJ: between(4000, 9000), airJ: between(9000, 22_000), couplingW: between(45, 90), wallW, lossW, maxW: ((lossW + wallW) * (hottestC - 25) * 1.15 + 1100) / between(0.5, 0.75),
      lagS: between(3, 9), gain: between(0.03, 0.06), integralS: between(180, 380), gustS: between(3, 6), gustC: between(0.25, 0.5), biasC: between(-1, 1),
    }
  }

  /** Conductance to a board per that of clean full flow. */
  boardShare(severity: SeverityOf): number {
    return this.flow(severity) ** 0.7 * (1 - 0.6 * severity('coated-emitter', this.number)) ** 0.5
  }

  step(now: { readonly targetC: number; readonly boardsW: number; readonly roomC: number; readonly air: number }, severity: SeverityOf): void {
    const { draw, chance, number } = this
    const coupling = draw.couplingW * this.flow(severity) ** 0.7 * (1 - 0.6 * severity('coated-emitter', number))
    const lossW = draw.lossW * now.air * (1 - 0.6 * severity('blocked-vents', number))
    for (let half = 0; half < 2; half += 1) {
      const given = coupling * (this.heaterC - this.airC)
      this.heaterC += (0.5 * (this.duty * draw.maxW * (1 - 0.5 * severity('ageing-element', number)) - given - draw.wallW * (this.heaterC - now.roomC))) / draw.heaterJ
      this.airC += (0.5 * (given - lossW * (this.airC - now.roomC) - now.boardsW)) / draw.airJ
    }
    this.gustC += -this.gustC / draw.gustS + draw.gustC * Math.sqrt(2 / draw.gustS) * chance.normal()
    const coat = severity('coated-thermocouple', number)
    const seenC = this.airC + (now.targetC > 0 ? 1 : 0.2) * this.gustC - 0.02 * coat * (this.airC - now.roomC)
    this.sensorC += (seenC - this.sensorC) / (draw.lagS + (45 - draw.lagS) * coat ** 1.5)
    this.control(now.targetC)
  }

  read(): number {
    return this.sensorC + this.draw.biasC + 0.05 * this.chance.normal()
  }

  readBlower(isOn: boolean, severity: SeverityOf): number {
    return isOn ? this.blowerA * (1 - 0.03 * Math.min(1, (this.airC - 25) / 120)) * (1 - 0.35 * severity('clogged-blower', this.number)) * (1 + 0.008 * this.chance.normal()) : 0
  }

  private flow(severity: SeverityOf): number {
    return 1 - 0.7 * severity('clogged-blower', this.number)
  }

  private control(targetC: number): void {
    const error = targetC - this.sensorC
    const wanted = targetC > 0 ? this.draw.gain * error + this.integral : 0
    this.duty = Math.min(1, Math.max(0, wanted))
    this.integral = targetC === 0 ? 0 : this.integral + (wanted === this.duty ? (this.draw.gain * error) / this.draw.integralS : (this.duty - wanted) / 120)
    this.dutyShown += (this.duty - this.dutyShown) / 4
  }
}

/** Chain and drive: reddened noise, ripple of the sprocket, dips that are made up for, a lubricant that warms. */
export class ChainDrive {
  speedMmS = 0
  currentA = 0
  private red = 0
  private wayMm = 0
  private warmS = 0
  private dip = { seconds: 0, depth: 0, owed: 0 }
  private readonly draw: Readonly<Record<'noise' | 'ripple' | 'idleA' | 'perN' | 'dragN', number>>

  constructor(private readonly chance: Chance) {
    const { between } = chance
    this.draw = { noise: between(0.004, 0.008), ripple: between(0.001, 0.004), idleA: between(0.5, 0.9), perN: between(0.002, 0.004), dragN: between(45, 80) }
  }

  step(targetMmS: number, severity: SeverityOf): void {
    const { draw, chance } = this
    const [rails, chain, dry, sticky, bearing, sprocket, drive] = ['dirty-rails', 'dirty-chain', 'dry-chain', 'sticky-grease', 'worn-bearing', 'worn-sprocket', 'worn-drive'].map((kind) => severity(kind)) as [number, number, number, number, number, number, number]
    this.warmS = targetMmS > 0 ? this.warmS + 1 : Math.max(0, this.warmS - 0.3)
    if (targetMmS === 0) {
      this.speedMmS = 0
      this.currentA = 0
      return
    }
    const cold = Math.exp(-this.warmS / 2000)
    this.red = 0.4 * this.red + 0.9 * chance.normal()
    this.wayMm += targetMmS
    const turn = Math.sin((2 * Math.PI * this.wayMm) / 304.8)
    const even = 1 + draw.noise * (1 + 4 * chain + 2.5 * dry + 2 * rails + 0.4 * sticky + 1.2 * bearing) * this.red + (draw.ripple + 0.05 * sprocket) * turn - 0.03 * drive
    this.speedMmS = Math.max(0, targetMmS * (even + this.dipNow(0.1 + 60 * chain ** 3.3 + 12 * dry ** 2 + 2 * rails ** 2 + (cold > 0.3 ? 30 * sticky : 0))))
    const forceN = draw.dragN * (1 + 0.7 * rails + 0.7 * chain + 1.3 * dry + 0.3 * bearing + 1.25 * sticky) + 35 * cold * (1 + 2 * sticky)
    this.currentA = (draw.idleA + draw.perN * forceN) * (1 + 0.2 * drive) + 0.005 * (1 + 6 * chain + 3.5 * dry + 3.5 * rails + bearing) * this.red + 0.06 * draw.perN * forceN * sprocket * turn
  }

  /** What a catch takes off the speed for a second or two, and gives back. */
  private dipNow(perHour: number): number {
    const { dip, chance } = this
    if (dip.seconds === 0 && dip.owed === 0 && chance.oneIn(3600 / perHour)) this.dip = { seconds: 1 + Math.floor(chance.between(0, 2)), depth: chance.between(0.3, 0.9), owed: 0 }
    else if (dip.seconds > 0) {
      dip.seconds -= 1
      dip.owed += dip.depth
      return -dip.depth
    } else if (dip.owed > 0) {
      const back = dip.owed
      dip.owed = 0
      return back
    }
    return 0
  }
}

/** Spray head at a regulator or a metering pump. */
export class SprayHead {
  flowMlMin = 0
  pressureBar = 0
  isOpen = false
  private leftS = 0
  private wantedMlMin = 0
  private readonly bar: number

  constructor(private readonly feed: 'pressure' | 'metered-pump', private readonly chance: Chance) {
    this.bar = chance.between(0.5, 1.2)
  }

  startBoard(fluxG: number, seconds: number): void {
    this.leftS = seconds
    this.wantedMlMin = ((fluxG / 800) * 1000 * 60) / seconds
  }

  /** Flux where least of it lands, per nominal. */
  leastShare(severity: SeverityOf): number {
    const [dose, area, head] = this.state(severity)
    return (this.feed === 'pressure' ? dose * area * Math.sqrt(head) : dose) * (1 - 0.3 * severity('clogged-nozzle')) * (1 - 0.45 * severity('misoriented-nozzle'))
  }

  step(isOn: boolean, severity: SeverityOf): void {
    const { chance } = this
    const [dose, area, head] = this.state(severity)
    const [clog, leak, wide] = [severity('clogged-nozzle'), severity('leaking-seal'), 1 + 0.4 * severity('stroke-too-wide')]
    this.isOpen = isOn && this.leftS > 0
    if (!this.isOpen) {
      this.pressureBar *= Math.exp(-1 / (3600 * (30 / 3600) ** leak)) * (isOn ? 1 : 0.9995)
      this.flowMlMin = 0
      return
    }
    this.leftS -= 1
    const noisy = 1 + (0.022 + 0.08 * clog) * chance.normal()
    if (this.feed === 'pressure') {
      this.flowMlMin = this.wantedMlMin * area * Math.sqrt(head) * dose * wide * (1 - 0.2 * leak) * noisy
      this.pressureBar = this.bar * head * (1 + (0.012 + 0.03 * leak) * chance.normal())
    } else {
      this.flowMlMin = this.wantedMlMin * dose * wide * (1 - 0.25 * leak) * noisy
      this.pressureBar = Math.min(6, this.bar * dose ** 2 * (0.9 / area ** 2 + 0.1 * (1 + 4 * severity('bad-flux-hose'))) * (1 - 0.5 * leak)) * (1 + 0.015 * chance.normal())
    }
  }

  private state(severity: SeverityOf): readonly [dose: number, area: number, head: number] {
    const head = (1 - 0.5 * severity('leaking-seal')) * (1 - 0.4 * severity('bad-flux-hose'))
    return [1 - 0.3 * severity('dosing-off'), 1 - 0.6 * severity('clogged-nozzle'), head]
  }
}
