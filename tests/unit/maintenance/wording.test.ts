import { describe, expect, it } from 'vitest'
import { BENIGN_IDS, FAULT_IDS, NONE_OF_THESE } from '../../../src/line/causes.js'
import { GROUP_FAMILIES } from '../../../src/line/diagnosis/cause-groups.js'
import { invisibleFaults } from '../../../src/line/diagnosis/visibility.js'
import { LANGUAGES } from '../../../src/maintenance/catalogue-language.js'
import { fnv1a64, isCodeOf, shortCode } from '../../../src/maintenance/suggestion-id.js'
import { changeText, fill, listText } from '../../../src/maintenance/wording-format.js'
import { CAUSE_TITLES, GROUP_TITLES, UNSEEN_TITLES } from '../../../src/maintenance/wording-data-causes.js'
import { FEATURE_WORDS } from '../../../src/maintenance/wording-data-features.js'
import { SENTENCES } from '../../../src/maintenance/wording-data-sentences.js'
import { causeTitle, evidenceText, frequencyWords, invisibleText, reasonLists, suggestionView, workView } from '../../../src/maintenance/wording.js'
import { MINIMUM_LINE, RICH_LINE } from '../line/diagnosis/diagnosis-cases.js'
import { DeskBench } from './desk-bench.js'

const drag = new DeskBench(MINIMUM_LINE).run(3, { 'conveyor.speed.spread': 3 }).only()

describe('a suggestion in words', () => {
  it('says what, how likely, why, what first and by when', () => {
    const view = suggestionView(drag, 'en-US', 'Europe/Madrid')
    expect(view.headline).toBe('Transport: most likely chain or rails drag: residue, lubricant or wear (more than 9 in 10)')
    expect(view.reasons[0]).toMatch(/^The conveyor runs less evenly than it used to \(\+35 %, seen in \d+ windows\)$/)
    expect(view.missing.at(-1)).toBe('To tell the causes apart this would help most: the conveyor motor current')
    expect(view.checkFirst).toMatchObject({ title: 'Touch the lubricant', minutes: 4 })
    expect(view.work.map((work) => work.title)).toEqual(['Clean the rails', 'Clean the chain', 'Lubricate the chain'])
    expect(view.byWhen).toBe('Check within this shift, do the work by Wed, May 7')
    expect(view.invisibleText).toContain('Absence of an alarm is not evidence that they are clean. Use the interval plan and the checklist.')
    expect(view.raised).toBe(new Date(drag.raisedMs).toISOString())
    expect(view.shortCode).toBe(shortCode(drag.id))
    expect(view.causes[0]).toMatchObject({ words: 'more than 9 in 10', memberTitles: expect.arrayContaining(['dirty chain', 'chain without lubricant']) })
    expect(Object.keys(view)).not.toContain('raisedMs')
  })

  it('says the same in Spanish, with nothing left in English', () => {
    const view = suggestionView(drag, 'es-ES')
    expect(view.headline).toBe('Transporte: lo más probable, la cadena o los carriles rozan: residuo, lubricante o desgaste (más de 9 de cada 10)')
    expect(view.byWhen).toMatch(/^Compruebe en este turno, haga el trabajo antes de mié/)
    const texts = [view.headline, ...view.reasons, ...view.missing, ...view.cautions, ...view.work.flatMap((work) => [work.title, ...work.steps]), ...view.checkFirst.steps, view.invisibleText]
    for (const text of texts) expect(text).not.toMatch(/\b(the|and|with|chain|check|wipe)\b/i)
  })

  it('refuses a language the catalogue does not hold', () => {
    expect(() => suggestionView(drag, 'de')).toThrow('language "de" is not in the catalogue; expected one of en-US, es')
  })

  it('does not name one cause when it abstains', () => {
    const odd = new DeskBench(RICH_LINE).run(9, { 'fluxer.flow.spread': 6, 'fluxer.pressure.mean': 6, 'fluxer.pressure.spread': 6, 'fluxer.flux-per-board': 6 }).only()
    const view = suggestionView(odd, 'en-US')
    expect(view.headline).toBe('Fluxer: something changed that none of the known causes explains. Look at the section')
    expect(view.work).toEqual([])
    expect(view.byWhen).toMatch(/^Not urgent: at the next planned stop/)
    const weak = { ...drag, abstains: true, causes: drag.causes.map((cause, index) => (index === 0 ? { ...cause, probability: 0.4 } : cause)) }
    expect(suggestionView(weak, 'en-US').headline).toMatch(/^Transport: something changed, cannot tell yet what\. First to check: .* \(about 4 in 10\)$/)
  })

  it('names the zone', () => {
    const zone = new DeskBench(MINIMUM_LINE).run(4, { 'preheat.zone-3.warm-up-time': 5 }).only()
    const view = suggestionView(zone, 'en-US')
    expect(view.headline).toMatch(/^Preheat zone 3: /)
    expect(view.reasons).toContain('The other zones are unchanged')
    expect(view.reasons[0]).toMatch(/^Zone 3 heats up slower than it used to \(\+0\.5 s/)
  })
})

describe('words', () => {
  it('natural frequencies', () => {
    expect([0.01, 0.1, 0.68, 0.94, 0.99].map((share) => frequencyWords(share, 'en-US'))).toEqual(['less than 1 in 10', 'about 1 in 10', 'about 7 in 10', 'about 9 in 10', 'more than 9 in 10'])
    expect(frequencyWords(0.7, 'es')).toBe('unas 7 de cada 10')
    expect(() => frequencyWords(Number.NaN, 'en-US')).toThrow('expected 0 to 1')
  })

  it('sizes of changes in the form people use', () => {
    expect(changeText('log', Math.log(0.5), 0, 'en-US')).toBe('−50 %')
    expect(changeText('log', 9, 0, 'en-US')).toBe('+1,000 %')
    expect(changeText('relative', 0.08, 0.8, 'en-US')).toBe('+10 %')
    expect(changeText('relative', 0.08, 0, 'en-US')).toBe('')
    expect(changeText('s', 123.4, 760, 'en-US')).toBe('+123 s')
    expect(changeText('mm', -6.25, 0, 'es')).toBe('−6,3 mm')
  })

  it('sentences whose parts are missing are refused, lists read like lists', () => {
    expect(() => fill('{a} and {b}', { a: 'x' })).toThrow('no value for {b}')
    expect(listText(['a', 'b', 'c'], ' and ')).toBe('a, b and c')
    expect(listText([], ' and ')).toBe('')
  })

  it('every cause, group and place has a title in every language', () => {
    for (const language of LANGUAGES) {
      for (const cause of [...FAULT_IDS, ...BENIGN_IDS, NONE_OF_THESE, ...Object.keys(GROUP_FAMILIES)]) expect(causeTitle(cause, language).length).toBeGreaterThan(3)
      for (const fault of FAULT_IDS) expect(UNSEEN_TITLES[fault]![language].length).toBeGreaterThan(3)
    }
    expect(Object.keys(CAUSE_TITLES)).toHaveLength(FAULT_IDS.length + BENIGN_IDS.length + 1)
    expect(Object.keys(GROUP_TITLES).sort()).toEqual(Object.keys(GROUP_FAMILIES).sort())
    expect(() => causeTitle('gremlins', 'es')).toThrow('no title for cause "gremlins"')
    expect(() => causeTitle('toString', 'es')).toThrow('no title')
  })

  it('every feature can be said in every state, and parts are filled', () => {
    for (const pattern of Object.keys(FEATURE_WORDS)) {
      const feature = pattern.replace('<n>', '2').replace('<kind>', 'skip')
      for (const language of LANGUAGES) {
        for (const key of ['evidence.up', 'evidence.down', 'evidence.quiet', 'evidence.better', 'evidence.no-channel', 'evidence.learning', 'evidence.neighbours-quiet', 'evidence.all-zones']) {
          const text = evidenceText({ feature, stance: 'for', key, values: { shift: 0.2, centre: 1, windows: 4 } }, language)
          expect(text.length).toBeGreaterThan(8)
          expect(text).not.toMatch(/[{}!¡]|undefined|NaN/)
        }
      }
    }
    expect(evidenceText({ feature: 'custom.torque.value', stance: 'for', key: 'evidence.up', values: { shift: 1, centre: 2, windows: 1 } }, 'en-US')).toBe('custom.torque.value is above its usual level')
  })

  it('says what no sensor sees, and that silence proves nothing', () => {
    const text = invisibleText(invisibleFaults(MINIMUM_LINE), 'en-US')
    expect(text).toMatch(/^No sensor on this line can show the state of the flux nozzle, .* and the pot sensor\. Absence of an alarm is not evidence that they are clean\. Use the interval plan and the checklist\.$/)
    expect(invisibleText([], 'es')).toBe(SENTENCES['invisible.none'].es)
  })

  it('reasons for putting off and declining', () => {
    expect(reasonLists('es').decline.map(({ id }) => id)).toEqual(reasonLists('en-US').decline.map(({ id }) => id))
    expect(reasonLists('en-US').putOff.length).toBeGreaterThan(3)
  })

  it('a half-done job has no return to service, a whole one has', () => {
    const wash = workView('clean-chain', 'en-US')
    expect(wash.steps.some((step) => step === 'Do not start the line before this is done: Lubricate the chain')).toBe(true)
    expect(wash.steps.some((step) => step.startsWith('Run empty'))).toBe(false)
    const lubricate = workView('lubricate-chain', 'en-US').steps
    const at = (start: string): number => lubricate.findIndex((step) => step.startsWith(start))
    expect(at('Switch off, lock')).toBeLessThan(at('Put a small amount'))
    expect([at('Put every guard'), at('Count the tools'), at('See that everybody'), at('Each owner'), at('Run empty')]).toEqual([...Array(5).keys()].map((step) => at('Put every guard') + step))
    expect(new Set(lubricate).size).toBe(lubricate.length)
  })
})

describe('ids', () => {
  it('the hash gives the published values of FNV-1a, 64 bits', () => {
    expect(fnv1a64('')).toBe(0xcbf29ce484222325n)
    expect(fnv1a64('a')).toBe(0xaf63dc4c8601ec8cn)
    expect(fnv1a64('foobar')).toBe(0x85944171f73967e8n)
  })

  it('a code has six signs of which none is mistaken for another, and is found however it is typed', () => {
    const ids = Array.from({ length: 3000 }, (_, index) => `s-${fnv1a64(`card ${index}`).toString(36).padStart(13, '0')}`)
    const codes = ids.map(shortCode)
    for (const code of codes) expect(code).toMatch(/^[34679BCDFHJKMNPRTWXY]{6}$/)
    // 64 million codes: among three thousand cards a pair with the same is a matter of luck, many are not.
    expect(new Set(codes).size).toBeGreaterThan(2995)
    for (const [index, id] of ids.entries()) {
      const code = codes[index]!
      const misread = code.replaceAll('D', '0').replaceAll('7', 'l').replaceAll('B', '8').replaceAll('6', 'G').replaceAll('Y', 'v')
      for (const typed of [code, code.toLowerCase(), ` ${code.slice(0, 3)} ${code.slice(3)} `, `${code.slice(0, 3)}-${code.slice(3)}`, misread]) expect(isCodeOf(id, typed)).toBe(true)
      expect(isCodeOf(id, codes[(index + 1) % codes.length]!)).toBe(false)
    }
  })

  it('a card printed when codes were the end of the id is still found', () => {
    expect(isCodeOf('s-0000000abc123', 'ABC123')).toBe(true)
    expect(isCodeOf('s-0000000abc123', 'abc124')).toBe(false)
    expect(isCodeOf('s-0000000abc123', '')).toBe(false)
  })
})

describe('a sentence with a count', () => {
  it('has one thing and many in their own words', () => {
    const sentence = '{n} {n:round|rounds} with {m} {m:check|checks}'
    expect(fill(sentence, { n: '1', m: '12' })).toBe('1 round with 12 checks')
    expect(fill(sentence, { n: '0', m: '1' })).toBe('0 rounds with 1 check')
    expect(() => fill('{n:round|rounds}', {})).toThrow('no value for {n}')
  })
})
