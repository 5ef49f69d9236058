import { describe, expect, it } from 'vitest'
import type { MaintenanceContext } from '../../../src/maintenance/maintenance-part.js'
import { createMaintenanceStage } from '../../../src/monitor/maintenance-stage.js'
import { diagnoseMoves, RICH_LINE } from '../line/diagnosis/diagnosis-cases.js'

const START_MS = Date.UTC(2031, 4, 5, 6)

describe('the work history of the parts', () => {
  it('reaches the diagnosis: what was just cleaned is less likely the cause', () => {
    const stage = createMaintenanceStage(RICH_LINE)
    const context: MaintenanceContext = { nowMs: START_MS, state: 'production', recipe: 'r1', definition: RICH_LINE }
    stage.record({ id: 'r-1', timeMs: START_MS, section: 'transport', work: 'clean-chain', finding: 3 }, context, { fact: () => undefined, chart: () => undefined, learnCause: () => undefined })
    const priors = stage.priors(context)
    expect(priors['dirty-chain']).toMatchObject({ since: 0 })
    expect(priors['dirty-chain']!.interval).toBeGreaterThan(0)
    const moved = { 'conveyor.speed.loop-line': 5, 'conveyor.speed.jumps': 5 }
    const order = (given: object): number => {
      const { causes } = diagnoseMoves(RICH_LINE, moved, given)[0]!
      const all = causes.flatMap(({ cause, members }): readonly string[] => members ?? [cause])
      return all.indexOf('dirty-chain')
    }
    expect(order({ priors })).toBeGreaterThanOrEqual(order({}))
    const leadOf = (given: object): string => JSON.stringify(diagnoseMoves(RICH_LINE, moved, given)[0]!.causes)
    expect(leadOf({ priors })).not.toBe(leadOf({}))
  })
})
