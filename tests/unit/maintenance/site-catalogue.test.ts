import { describe, expect, it } from 'vitest'
import { parseLineDefinition, type LineDefinition } from '../../../src/line/line-definition.js'
import { LANGUAGES } from '../../../src/maintenance/catalogue-language.js'
import { CAUTION_IDS } from '../../../src/maintenance/work-catalogue-data-facts.js'
import { siteCatalogue, siteWorkFaults } from '../../../src/maintenance/site-catalogue.js'
import { ISOLATION_STEPS, RETURN_STEPS, WORK_CATALOGUE } from '../../../src/maintenance/work-catalogue.js'
import { flashGate } from '../../../src/maintenance/work-products.js'

function definitionWith(siteWork: unknown): LineDefinition {
  const result = parseLineDefinition({ line: 'line-a', siteWork })
  if (result.kind === 'faults') throw new Error(JSON.stringify(result.faults))
  return result.definition
}

const TEXT = { title: 'Empty the drip tray', steps: ['Empty it.'], tools: ['tray'], verification: 'Tray dry.' }
const OWN_JOB = { id: 'empty-drip-tray', section: 'fluxer', kind: 'cleaning', minutesByHand: [5, 10], isolation: ['stop-and-note'], cautions: ['fire-flux'], texts: { 'en-US': TEXT, es: { ...TEXT, title: 'Vaciar la bandeja' } } }

function german(): { jobs: Record<string, typeof TEXT>; cautions: Record<string, string>; isolation: Record<string, string>; returns: Record<string, string>; products: Record<string, string> } {
  const of = (ids: readonly string[]): Record<string, string> => Object.fromEntries(ids.map((id) => [id, `Text ${id}`]))
  return { jobs: Object.fromEntries(WORK_CATALOGUE.map(({ id }) => [id, { ...TEXT, title: `Arbeit ${id}` }])), cautions: of(CAUTION_IDS), isolation: of(ISOLATION_STEPS), returns: of(RETURN_STEPS), products: {} }
}

describe('the work catalogue of a site', () => {
  it('is that of the package where the site says nothing', () => {
    const catalogue = siteCatalogue(definitionWith(undefined))
    expect(catalogue.items).toEqual(WORK_CATALOGUE)
    expect(catalogue.languages).toEqual(LANGUAGES)
    expect(catalogue.words('clean-chain', 'es').cautions.length).toBe(catalogue.words('clean-chain', 'en-US').cautions.length)
    expect(catalogue.words('clean-chain', 'en-US').before.map(({ step }) => step)).toContain('verify-zero-energy')
    expect(catalogue.approved(catalogue.item('lubricate-chain')!)).not.toContain('silicone-lubricant')
  })

  it('takes edits, own jobs and own products', () => {
    const catalogue = siteCatalogue(
      definitionWith({
        products: [{ name: 'Shelf 4 chain oil', class: 'ester-or-pao-oil', flashPointC: 240 }],
        edits: { 'clean-fingers': { people: 2, minutesByHand: [40, 70], cautions: ['heavy-parts'], instruction: { id: 'WI-12', revision: 'C' } } },
        jobs: [OWN_JOB],
      }),
    )
    expect(catalogue.item('clean-fingers')).toMatchObject({ people: 2, minutesByHand: [40, 70] })
    expect(catalogue.words('clean-fingers', 'es').cautions.length).toBe(siteCatalogue(definitionWith(undefined)).words('clean-fingers', 'es').cautions.length + 1)
    expect(catalogue.instruction('clean-fingers')).toEqual({ id: 'WI-12', revision: 'C' })
    expect(catalogue.words('empty-drip-tray', 'es').title).toBe('Vaciar la bandeja')
    expect(catalogue.approved(catalogue.item('lubricate-chain')!)).toEqual(['Shelf 4 chain oil'])
    expect(catalogue.product('shelf 4 CHAIN oil')).toMatchObject({ class: 'ester-or-pao-oil', flashPointC: 240 })
    expect(catalogue.product('something else')).toBeUndefined()
  })

  it('speaks a third language only when it is complete: a missing caution is a fault, never another language', () => {
    const whole = siteCatalogue(definitionWith({ languages: { de: german() } }))
    expect(whole.words('clean-chain', 'de')).toMatchObject({ title: 'Arbeit clean-chain', cautions: expect.arrayContaining([{ caution: 'no-water-in-solder', text: 'Text no-water-in-solder' }]) })
    expect(() => whole.words('clean-chain', 'fr')).toThrow('no text for job "clean-chain" in fr')
    const texts = german()
    delete texts.cautions['no-water-in-solder']
    const faulty = definitionWith({ languages: { de: texts } })
    expect(siteWorkFaults(faulty)).toEqual([{ path: 'siteWork.languages.de.cautions', message: 'has no text for no-water-in-solder' }])
    expect(() => siteCatalogue(faulty)).toThrow('no-water-in-solder')
    expect(siteWorkFaults(definitionWith({ jobs: [OWN_JOB], languages: { de: german() } }))).toEqual([{ path: 'siteWork.jobs[0].texts', message: 'has no text in de' }])
  })

  it.each([
    [{ edits: { 'clean-chain': { people: 1 } } }, 'siteWork.edits.clean-chain.people', 'at least 2'],
    [{ edits: { 'paint-the-hood': { people: 1 } } }, 'siteWork.edits.paint-the-hood', 'no job'],
    [{ edits: { 'lubricate-chain': { products: ['silicone-lubricant'] } } }, 'siteWork.edits.lubricate-chain.products', 'silicone-lubricant'],
    [{ edits: { 'clean-chain': { texts: { es: TEXT } } } }, 'siteWork.edits.clean-chain.texts', 'en-US'],
    [{ jobs: [{ ...OWN_JOB, id: 'clean-chain' }] }, 'siteWork.jobs[0].id', 'already'],
    [{ jobs: [{ ...OWN_JOB, cautions: ['be-nice'] }] }, 'siteWork.jobs[0].cautions', 'be-nice'],
    [{ jobs: [{ ...OWN_JOB, texts: { 'en-US': TEXT } }] }, 'siteWork.jobs[0].texts', 'es'],
    [{ products: [{ name: 'x', class: 'magic' }] }, 'siteWork.products[0].class', 'magic'],
    [{ languages: { es: german() } }, 'siteWork.languages.es', 'of the package'],
  ])('refuses %j and says where', (siteWork, path, words) => {
    const faults = siteWorkFaults(definitionWith(siteWork))
    expect(faults.map((fault) => fault.path)).toContain(path)
    expect(faults.find((fault) => fault.path === path)?.message).toContain(words)
  })
})

describe('the flash-point gate', () => {
  // Isopropyl alcohol: flash point 12 °C (NIOSH Pocket Guide); margin 15 K.
  it('releases a product only below its flash point less 15 K, and only by a surface measured by hand', () => {
    expect(flashGate(12, 25)).toEqual({ kind: 'too-hot', flashPointC: 12, surfaceC: 25, coolToC: -3 })
    expect(flashGate(90, 75)).toEqual({ kind: 'released' })
    expect(flashGate(90, 75.1)).toMatchObject({ kind: 'too-hot', coolToC: 75 })
    expect(flashGate(90, undefined)).toEqual({ kind: 'surface-not-measured' })
    expect(flashGate(90, Number.NaN)).toEqual({ kind: 'surface-not-measured' })
    expect(flashGate('data-sheet', 20)).toEqual({ kind: 'flash-point-unknown' })
    expect(flashGate('none', undefined)).toEqual({ kind: 'released' })
  })
})
