import { describe, expect, it } from 'vitest'
import { FAULT_IDS, type CauseId, type RankedCause } from '../../../src/line/causes.js'
import { FAULT_FACTS } from '../../../src/line/diagnosis/cause-priors.js'
import { CHECKS } from '../../../src/line/diagnosis/checks.js'
import { catalogueLanguage, LANGUAGES } from '../../../src/maintenance/catalogue-language.js'
import { catalogueTextsSchema, cautionText, checkWords, jobWords } from '../../../src/maintenance/catalogue-texts.js'
import { CAUTION_TEXTS } from '../../../src/maintenance/work-catalogue-data-safety.js'
import { CAUTION_IDS, CHECK_CAUTIONS } from '../../../src/maintenance/work-catalogue-data-facts.js'
import { JOB_TEXTS_EN_US } from '../../../src/maintenance/work-catalogue-data-jobs-en-us.js'
import { JOB_TEXTS_ES } from '../../../src/maintenance/work-catalogue-data-jobs-es.js'
import { MORE_JOB_TEXTS } from '../../../src/maintenance/work-catalogue-data-jobs-more.js'
import { cautionsFor, cautionsOfCheck, isolates, returnStepsOf, RETURN_STEPS, workForCauses, workItem, workItemSchema, WORK_CATALOGUE } from '../../../src/maintenance/work-catalogue.js'

const TEXTS = {
  'en-US': { ...JOB_TEXTS_EN_US, ...Object.fromEntries(Object.entries(MORE_JOB_TEXTS).map(([id, texts]) => [id, texts['en-US']])) },
  es: { ...JOB_TEXTS_ES, ...Object.fromEntries(Object.entries(MORE_JOB_TEXTS).map(([id, texts]) => [id, texts.es])) },
}

function fault(cause: string, probability: number, members?: readonly CauseId[]): RankedCause {
  const first = (members?.[0] ?? cause) as keyof typeof FAULT_FACTS
  return { cause, section: FAULT_FACTS[first].section, kind: 'fault', probability, ...(members === undefined ? {} : { members }) }
}

describe('work catalogue', () => {
  it('mends every fault with at least one job, and is of the right form', () => {
    for (const id of FAULT_IDS) expect(WORK_CATALOGUE.some((item) => item.mends.includes(id)), id).toBe(true)
    for (const item of WORK_CATALOGUE) expect(workItemSchema.safeParse(item).success, item.id).toBe(true)
    expect(new Set(WORK_CATALOGUE.map((item) => item.id)).size).toBe(WORK_CATALOGUE.length)
    expect(workItemSchema.safeParse({ ...WORK_CATALOGUE[0], minutesByHand: [20, 10] }).success).toBe(false)
    expect(() => workItem('paint-the-hood')).toThrow('no job "paint-the-hood"')
  })

  it('has durations of practice: chain by hand in hours, in a washing machine one to four, neglected about two days', () => {
    const chain = workItem('clean-chain')
    expect(chain.minutesWithWasher).toEqual([60, 240])
    const days = chain.minutesWhenNeglected!.map((minutes) => minutes / 60 / 8)
    expect(days[0]).toBeLessThan(2)
    expect(days[1]).toBeGreaterThan(2)
    expect(workItem('clean-nozzle').minutesByHand).toEqual([10, 50])
  })

  it('washing the chain is always followed by lubricating it', () => {
    for (const causes of [
      [fault('dirty-chain', 0.9)],
      [fault('sticky-grease', 0.9)],
      [fault('transport-drag', 0.9, ['dirty-chain', 'dry-chain', 'dirty-rails', 'worn-sprocket'])],
      [fault('transport-drag', 0.7, ['worn-sprocket', 'dry-chain', 'dirty-chain'])],
      [fault('dry-chain', 0.6), fault('dirty-chain', 0.3)],
    ]) {
      const work = workForCauses(causes)
      expect(work).toContain('clean-chain')
      expect(work.indexOf('lubricate-chain')).toBeGreaterThan(work.indexOf('clean-chain'))
    }
    expect(workForCauses([fault('dry-chain', 0.9)])).toEqual(['lubricate-chain'])
  })

  it('names no repair on a guess', () => {
    expect(workForCauses([fault('transport-drag', 0.9, ['dirty-chain', 'worn-bearing', 'worn-drive'])]).map((id) => workItem(id).kind)).not.toContain('repair')
    expect(workForCauses([fault('coated-thermocouple', 0.6), fault('leaking-seal', 0.3)])).not.toContain('replace-seals')
    expect(workForCauses([fault('worn-bearing', 0.9)])).toEqual(['replace-bearing'])
    expect(workForCauses([{ cause: 'none-of-these', section: 'pot', kind: 'none-of-these', probability: 0.8 }])).toEqual([])
  })

  it('keeps an element to its own place', () => {
    expect(workForCauses([fault('ageing-element', 0.9)])).toEqual(['replace-element'])
    expect(workForCauses([{ ...fault('ageing-element', 0.9), section: 'pot' }])).toEqual(['replace-pot-element'])
  })

  it('gives cautions for every job and check: an electrician where wires are, no water at the pot', () => {
    for (const item of WORK_CATALOGUE) {
      const cautions = cautionsFor([item.id], 'look-in-log')
      expect(cautions).toContain('other-rules-win')
      expect(cautions).toContain('advice-only')
      if (item.needsElectrician) expect(cautions).toContain('licensed-electrician')
      if (item.section === 'pot' || item.section === 'transport') expect(cautions, item.id).toContain('no-water-in-solder')
      if (item.isolation.includes('isolate-electricity')) expect(cautions, item.id).toContain('isolate-and-verify')
      if (item.kind === 'cleaning' && item.section !== 'pot') expect(cautions, item.id).toContain('cleaner-protection')
    }
    for (const { check } of CHECKS) expect(cautionsOfCheck(check).length).toBeGreaterThan(0)
    expect(Object.keys(CHECK_CAUTIONS).sort()).toEqual(CHECKS.map(({ check }) => check).sort())
    expect(() => cautionsOfCheck('sniff')).toThrow('check "sniff" has no cautions')
  })

  it('has a check, a first job and a repair or setting for every fault; a later repair is never named by a diagnosis', () => {
    for (const id of FAULT_IDS) {
      const items = WORK_CATALOGUE.filter((item) => item.mends.includes(id) || item.laterFor.includes(id))
      expect(items.some((item) => ['repair', 'adjustment'].includes(item.kind)), id).toBe(true)
      for (const item of items) expect(CHECKS.some(({ check }) => check === item.check), `${id} ${item.id}`).toBe(true)
      for (const later of items.filter((item) => !item.mends.includes(id))) expect(workForCauses([fault(id, 0.9)])).not.toContain(later.id)
    }
  })

  it('leads only to jobs it holds, and asks nobody to remove a lock that was never put on', () => {
    const ids = WORK_CATALOGUE.map(({ id }) => id)
    for (const item of WORK_CATALOGUE) {
      for (const next of [...item.leadsTo, ...(item.followedBy === undefined ? [] : [item.followedBy])]) expect(ids, item.id).toContain(next)
      expect(returnStepsOf(item).includes('isolation-removed-by-owner'), item.id).toBe(isolates(item))
    }
    for (const id of ['swap-exhaust-filter', 'clean-ducts', 'replace-seals', 'check-guards']) expect(workItem(id).safety, id).toBe(true)
  })

  it('every job has its cautions in both languages, and those of an urgent one say whose protection counts', () => {
    for (const item of WORK_CATALOGUE) {
      for (const language of LANGUAGES) for (const id of cautionsFor([item.id], 'look-in-log')) expect(cautionText(id, language).length, `${item.id} ${id} ${language}`).toBeGreaterThan(20)
      if (item.kind === 'response') expect(item.cautions).toContain('own-alarms-protect')
    }
  })

  it('uses every caution it holds', () => {
    const used = new Set([...WORK_CATALOGUE.flatMap((item) => item.cautions), ...Object.values(CHECK_CAUTIONS).flat(), 'other-rules-win'])
    expect(CAUTION_IDS.filter((id) => !used.has(id))).toEqual([])
  })
})

describe('texts of the catalogue', () => {
  it('has every job, check and caution in every language, of the same shape', () => {
    const ids = WORK_CATALOGUE.map((item) => item.id).sort()
    expect(Object.keys(TEXTS['en-US']).sort()).toEqual(ids)
    expect(Object.keys(TEXTS.es).sort()).toEqual(ids)
    for (const language of LANGUAGES) {
      for (const id of ids) {
        expect(jobWords(id, language).steps.length, id).toBe(TEXTS['en-US'][id]!.steps.length)
        expect(jobWords(id, language).tools.length, id).toBe(TEXTS['en-US'][id]!.tools.length)
        expect(jobWords(id, language).before.length).toBeGreaterThan(0)
        expect(jobWords(id, language).after).toHaveLength(isolates(workItem(id)) ? RETURN_STEPS.length : RETURN_STEPS.length - 1)
      }
      for (const { check } of CHECKS) expect(checkWords(check, language).steps.length).toBe(checkWords(check, 'en-US').steps.length)
      for (const id of CAUTION_IDS) expect(cautionText(id, language).length).toBeGreaterThan(20)
    }
  })

  it('no text is left in the other language', () => {
    for (const id of CAUTION_IDS) expect(CAUTION_TEXTS[id].es).not.toBe(CAUTION_TEXTS[id]['en-US'])
    for (const [id, text] of Object.entries(TEXTS.es)) {
      expect(text.title, id).not.toBe(TEXTS['en-US'][id]!.title)
      expect(text.verification, id).not.toBe(TEXTS['en-US'][id]!.verification)
    }
  })

  it('keeps the numbers of a step in both languages', () => {
    const numbers = (text: string): string[] => (text.replaceAll(',', '.').match(/\d+(\.\d+)?/g) ?? []).sort()
    for (const id of Object.keys(TEXTS['en-US'])) {
      TEXTS['en-US'][id]!.steps.forEach((step, index) => expect(numbers(TEXTS.es[id]!.steps[index]!), `${id} step ${index + 1}`).toEqual(numbers(step)))
    }
    for (const id of CAUTION_IDS) expect(numbers(CAUTION_TEXTS[id].es), id).toEqual(numbers(CAUTION_TEXTS[id]['en-US']))
  })

  it('never advises more heat, less speed or a bypass, and never shouts', () => {
    const advice = /\b(raise|increase|turn up) (the )?(temperature|heat|set-point)|\b(lower|reduce|slow down) (the )?(speed|conveyor)|\bbypass the\b/i
    for (const text of Object.values(TEXTS['en-US']).flatMap((job) => job.steps)) expect(text).not.toMatch(advice)
    expect(catalogueTextsSchema.safeParse({ jobs: { 'en-US': {}, es: {} }, checks: {}, cautions: { x: { 'en-US': 'Stop!', es: 'Pare.' } }, isolation: {}, returns: {} }).success).toBe(false)
  })

  it('a caution is never given in a language nobody asked for', () => {
    expect(() => cautionText('hot-parts', 'de' as never)).toThrow('in language')
    expect(() => cautionText('no-such', 'es')).toThrow('no text for caution "no-such"')
    expect(catalogueLanguage('de-DE')).toEqual({ kind: 'unknown-language', found: 'de-DE', expected: LANGUAGES })
    expect(catalogueLanguage('en-GB')).toEqual({ kind: 'language', language: 'en-US' })
    expect(catalogueLanguage('es_MX')).toEqual({ kind: 'language', language: 'es' })
  })
})
