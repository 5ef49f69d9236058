import { describe, expect, it } from 'vitest'
import { cusumLimit, ewmaLimit, shewhartLimit } from '../../../src/spc/design-limits.js'
import { cusumArl } from '../../../src/spc/run-length-cusum.js'
import { autocorrelatedShewhartArl, ewmaArl } from '../../../src/spc/run-length-ewma.js'
import { rulesRunLength, shewhartArl, type RunRuleSet } from '../../../src/spc/run-length-rules.js'
import { normalCdf } from '../../../src/spc/special-functions.js'
import { expectClose, readReference } from './reference-file.js'

const rules = readReference('arl_runs_rules')
const charts = readReference('arl_ewma_cusum')

/** `1234_run8+strat15+mix8`, `2only`, `14_run9` … */
function ruleSetOf(name: string): RunRuleSet {
  const digits = /^\d+/.exec(name)?.[0] ?? ''
  const run = /run(\d)/.exec(name)?.[1]
  const has = (digit: string): boolean => digits.includes(digit) && !name.startsWith('strat') && !name.startsWith('mix')
  return {
    oneBeyondThree: has('1'),
    twoOfThreeBeyondTwo: has('2'),
    fourOfFiveBeyondOne: has('3'),
    ...(run === undefined ? {} : { sameSideRun: Number(run) }),
    ...(name.includes('strat15') ? { withinOneRun: 15 } : {}),
    ...(name.includes('mix8') ? { beyondOneRun: 8 } : {}),
  }
}

/** Bit 0-3: the four rules (run of 8); 4: run of 9; 7: 15 within 1 sigma; 8: 8 beyond 1 sigma; 12: run of 7. */
function ruleSetOfMask(mask: number): RunRuleSet | undefined {
  // 6 and 7 point trends, 14 alternating and the full-window variant are no rules of this project
  if ((mask & (32 | 64 | 512 | 1024)) !== 0) return undefined
  const run = mask & 8 ? 8 : mask & 16 ? 9 : mask & 4096 ? 7 : undefined
  return {
    oneBeyondThree: (mask & 1) !== 0,
    twoOfThreeBeyondTwo: (mask & 2) !== 0,
    fourOfFiveBeyondOne: (mask & 4) !== 0,
    ...(run === undefined ? {} : { sameSideRun: run }),
    ...(mask & 128 ? { withinOneRun: 15 } : {}),
    ...(mask & 256 ? { beyondOneRun: 8 } : {}),
  }
}

describe('run rules against an independent Markov chain (asked: 1e-6; both are exact, so 1e-8)', () => {
  it.each(Object.keys(rules.markov_exact.sets))('%s', (name) => {
    const { arl, sdrl } = rules.markov_exact.sets[name]
    rules.delta.forEach((shift: number, i: number) => {
      const actual = rulesRunLength(ruleSetOf(name), { shift })
      if (name === 'strat15only' && shift > 1) {
        // The file's plain elimination loses its digits above 1e5 (its own values turn negative at 2.6): runs of equal
        // trials have a closed form instead, (1 - p^r) / ((1 - p) p^r).
        const p = normalCdf(1 - shift) - normalCdf(-1 - shift)
        expectClose(actual.arl, (1 - p ** 15) / ((1 - p) * p ** 15), 1e-11, `${name} at ${shift}`)
        return
      }
      expectClose(actual.arl, arl[i], 1e-8, `${name} at ${shift}`)
      expectClose(actual.sdrl, sdrl[i], 1e-8, `sd of ${name} at ${shift}`)
    })
  })

  it('R spc 0.6.7, printed to ten decimals', () => {
    const sets: Record<string, RunRuleSet> = {
      1: { oneBeyondThree: true },
      12: ruleSetOf('12'),
      13: ruleSetOf('13'),
      14: ruleSetOf('14_run8'),
      SameSide7: ruleSetOf('14_run7'),
      SameSide8: ruleSetOf('14_run8'),
      SameSide9: ruleSetOf('14_run9'),
    }
    // types 15 and 19 (runs beyond 2 and 3 sigma) are no rules of this project
    expect(Object.keys(rules.spc_values.arl).sort()).toEqual([...Object.keys(sets), '15', '19'].sort())
    for (const [type, set] of Object.entries(sets)) {
      rules.spc_values.delta.forEach((shift: number, i: number) => expectClose(rulesRunLength(set, { shift }).arl, rules.spc_values.arl[type][i], 1e-9, `${type} at ${shift}`))
    }
    const steady = [ruleSetOf('12'), ruleSetOf('13'), ruleSetOf('14_run8')].map((set) => rulesRunLength(set, { start: 'steady-state' }).arl)
    steady.forEach((arl, i) => expectClose(arl, rules.spc_values.steady_state_ad_at_mu0_0_mu1_0[i], 1e-9, `steady state ${i}`))
  })

  it('Champ and Woodall 1987, as remembered: two decimals', () => {
    for (const [name, { from_memory }] of Object.entries<any>(rules.champ_woodall_check)) {
      expect(rulesRunLength(ruleSetOf(name)).arl, name).toBeCloseTo(from_memory, name === '1' ? 1 : 1.9)
    }
  })

  it('Monte Carlo of the rules within 4 standard errors', () => {
    let checked = 0
    for (const entry of rules.monte_carlo.entries) {
      const set = ruleSetOfMask(entry.rule_mask)
      if (set === undefined) continue
      checked++
      expect(Math.abs(rulesRunLength(set, { shift: entry.delta }).arl - entry.arl), `${entry.rules} at ${entry.delta}`).toBeLessThan(4 * entry.se)
    }
    expect(checked).toBeGreaterThan(100)
  })
})

describe('EWMA against R spc (asked: 1e-4; both solve the same integral equation, so 1e-7)', () => {
  it('designs for a given ARL0: limit, zero state, steady state, limits that open', () => {
    for (const { lambda, L0, L, mu, zero_state_ARL, steady_state_ARL_conditional, L_vacl, zero_state_ARL_vacl } of charts.ewma) {
      // spc's limits carry ten decimals
      expect(Math.abs(ewmaLimit(lambda, L0) - L), `limit ${lambda} ${L0}`).toBeLessThan(1e-8)
      mu.forEach((shift: number, i: number) => {
        const what = `lambda ${lambda}, ARL0 ${L0}, shift ${shift}`
        expectClose(ewmaArl({ lambda, limit: L }, { shift }), zero_state_ARL[i], 1e-8, what)
        if (steady_state_ARL_conditional) expectClose(ewmaArl({ lambda, limit: L }, { shift, start: 'steady-state' }), steady_state_ARL_conditional[i], 1e-7, `steady state, ${what}`)
        if (L_vacl) expectClose(ewmaArl({ lambda, limit: L_vacl }, { shift, limits: 'time-varying' }), zero_state_ARL_vacl[i], 1e-6, `opening limits, ${what}`)
      })
    }
  })

  it('fixed designs, also one-sided with a reflecting barrier', () => {
    for (const { lambda, L, mu, zero_state_ARL, zero_state_ARL_vacl, zero_state_ARL_one_sided_upper_reflected } of charts.ewma_fixed_designs) {
      mu.forEach((shift: number, i: number) => {
        const what = `lambda ${lambda}, L ${L}, shift ${shift}`
        expectClose(ewmaArl({ lambda, limit: L }, { shift }), zero_state_ARL[i], 1e-8, what)
        expectClose(ewmaArl({ lambda, limit: L }, { shift, limits: 'time-varying' }), zero_state_ARL_vacl[i], 1e-6, `opening limits, ${what}`)
        expectClose(ewmaArl({ lambda, limit: L }, { shift, sided: 'upper-reflected' }), zero_state_ARL_one_sided_upper_reflected[i], 1e-8, `one-sided, ${what}`)
      })
    }
  })
})

describe('CUSUM against R spc (asked: 1e-4; the file differs from its own check by 2e-7 at k = 1, h = 8)', () => {
  it('zero state, head start, one-sided steady state', () => {
    for (const entry of charts.cusum) {
      const design = { k: entry.k, h: entry.h }
      entry.mu.forEach((shift: number, i: number) => {
        const what = `k ${entry.k}, h ${entry.h}, shift ${shift}`
        expectClose(cusumArl(design, { shift }), entry.two_sided_ARL[i], 1e-7, what)
        expectClose(cusumArl(design, { shift, sided: 'one' }), entry.one_sided_ARL[i], 1e-7, `one side, ${what}`)
        expectClose(cusumArl(design, { shift, headStartShare: 0.5 }), entry.two_sided_FIR_headstart_half_h[i], 1e-7, `head start, ${what}`)
        expectClose(cusumArl(design, { shift, headStartShare: 0.5, sided: 'one' }), entry.one_sided_FIR_headstart_half_h[i], 1e-7, `one side, head start, ${what}`)
        expectClose(cusumArl(design, { shift, start: 'steady-state', sided: 'one' }), entry.steady_state_one_sided[i], 1e-7, `one side, steady state, ${what}`)
      })
    }
  })

  it('two-sided steady state: the file comes from a coarse two-dimensional grid, good for shifts only', () => {
    for (const entry of charts.cusum) {
      entry.mu.forEach((shift: number, i: number) => {
        const actual = cusumArl({ k: entry.k, h: entry.h }, { shift, start: 'steady-state' })
        // its in-control values fall up to 8 % short as the run lengths grow; out of control both agree to 0.06 %
        if (shift >= entry.k + 0.5) expectClose(actual, entry.steady_state_two_sided[i], 1e-3, `k ${entry.k}, h ${entry.h}, shift ${shift}`)
      })
    }
    // in control: own C simulation, 1.5e6 runs after 60 points without a signal, and 1e7 runs after 30
    expect(Math.abs(cusumArl({ k: 0.5, h: 4 }, { start: 'steady-state' }) - 163.4084)).toBeLessThan(4 * 0.133)
    expect(Math.abs(cusumArl({ k: 0.25, h: 2 }, { start: 'steady-state' }) - 7.5478)).toBeLessThan(4 * 0.0022)
  })

  it('decision interval for a given run length', () => {
    for (const { k, L0, h_one_sided, h_two_sided } of charts.cusum_crit) {
      expect(Math.abs(cusumLimit(k, L0) - h_two_sided), `k ${k}, ARL0 ${L0}`).toBeLessThan(1e-7)
      expectClose(cusumArl({ k, h: h_one_sided }, { sided: 'one' }), L0, 1e-7, `one side, k ${k}, ARL0 ${L0}`)
    }
  })
})

describe('printed tables, as remembered (rounded as printed)', () => {
  /** Half a unit of the last digit printed, and the few hundredths by which those tables are known to be off. */
  function expectPrinted(actual: number, printed: number, what: string): void {
    const digit = printed >= 100 ? 1 : 0.1
    expect(Math.abs(actual - printed), `${what}: ${actual} against ${printed}`).toBeLessThan(Math.max(0.55 * digit, 0.004 * printed))
  }

  it('CUSUM k = 0.5', () => {
    const { shift, h4, h5 } = charts.published['montgomery_cusum_two_sided_k0.5']
    shift.forEach((mu: number, i: number) => {
      expectPrinted(cusumArl({ k: 0.5, h: 4 }, { shift: mu }), h4[i], `h 4, shift ${mu}`)
      expectPrinted(cusumArl({ k: 0.5, h: 5 }, { shift: mu }), h5[i], `h 5, shift ${mu}`)
    })
  })

  it('EWMA', () => {
    const table = charts.published.lucas_saccucci_ewma
    for (const [name, values] of Object.entries<any>(table)) {
      const design = /^L([\d.]+)_l([\d.]+)$/.exec(name)
      if (design === null) continue
      table.shift.forEach((shift: number, i: number) => expectPrinted(ewmaArl({ lambda: Number(design[2]), limit: Number(design[1]) }, { shift }), values[i], `${name}, shift ${shift}`))
    }
  })

  it('decision intervals for an ARL0 of 370', () => {
    const { k, h } = charts.published.hawkins_two_sided_h_for_ARL370
    k.forEach((value: number, i: number) => expect(Math.abs(cusumLimit(value, 370) - h[i]), `k ${value}`).toBeLessThan(0.011))
  })

  it('Siegmund, an approximation: within 4 % up to a shift of 1.5', () => {
    for (const [name, values] of Object.entries<any>(charts.published.siegmund)) {
      const design = /^k([\d.]+)_h([\d.]+)$/.exec(name)
      if (design === null) continue
      for (const [shift, arl] of Object.entries<number>(values)) {
        if (Number(shift) <= 1.5) expectClose(cusumArl({ k: Number(design[1]), h: Number(design[2]) }, { shift: Number(shift) }), arl, 0.04, `${name}, shift ${shift}`)
      }
    }
  })
})

describe('limits for a weekly budget', () => {
  it('keep what they promise from 20 to 1e9 points', () => {
    for (const arl0 of [20, 370.4, 604_800, 1e9]) {
      expectClose(shewhartArl(shewhartLimit(arl0)), arl0, 1e-9, `Shewhart ${arl0}`)
      for (const lambda of [0.05, 0.2, 1]) expectClose(ewmaArl({ lambda, limit: ewmaLimit(lambda, arl0) }), arl0, 1e-8, `EWMA ${lambda} ${arl0}`)
      for (const k of [0.1, 0.5, 1]) expectClose(cusumArl({ k, h: cusumLimit(k, arl0) }), arl0, 1e-8, `CUSUM ${k} ${arl0}`)
    }
  })

  it('one false signal a week from 60 charts at one point a minute', () => {
    expect(shewhartLimit(604_800)).toBeCloseTo(4.792, 3)
    expect(ewmaLimit(0.2, 604_800)).toBeCloseTo(4.769, 3)
    expect(cusumLimit(0.5, 604_800)).toBeCloseTo(12.154, 3)
    expect(cusumLimit(0.25, 604_800)).toBeCloseTo(22.689, 3)
  })
})

describe('autocorrelated values against simulation and R spc', () => {
  const reference = readReference('autocorrelated')

  it('one point beyond the limits, true and moving-range sigma', () => {
    const entries = reference.in_control.filter((entry: any) => entry.rules === 'rule 1 only')
    expect(entries.length).toBe(10)
    for (const { phi, limits, arl, se, spc_xshewhart_ar1_arl } of entries) {
      const limit = limits.startsWith('moving range') ? 3 * Math.sqrt(1 - phi) : 3
      const actual = autocorrelatedShewhartArl(limit, { phi })
      expect(Math.abs(actual - arl), `phi ${phi}, ${limits}`).toBeLessThan(4 * se)
      if (spc_xshewhart_ar1_arl) expectClose(actual, spc_xshewhart_ar1_arl, 5e-5, `spc, phi ${phi}`)
    }
  })

  it('residual chart, rule 1 and the four rules: the first residual shows the whole shift, the later ones a part', () => {
    for (const { rules: name, phi, shift_in_marginal_sigma: shift, arl, se } of reference.residual_chart.entries) {
      const set = name === 'rule 1 only' ? { oneBeyondThree: true } : ruleSetOf('1234_run8')
      const innovation = Math.sqrt(1 - phi * phi)
      const actual = rulesRunLength(set, { firstShift: shift / innovation, shift: (shift * (1 - phi)) / innovation })
      expect(Math.abs(actual.arl - arl), `${name}, phi ${phi}, shift ${shift}`).toBeLessThan(4 * se)
    }
  })
})
