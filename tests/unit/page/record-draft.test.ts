import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { WorkChoice } from '../../../src/page/job-client.js'
import type { RecordBody } from '../../../src/page/record-client.js'
import { draftOf, recordFrom } from '../../../src/page/record-draft.js'
import { recordBodySchema } from '../../../src/service/outside-inputs.js'

const CHOSEN: WorkChoice = { work: 'clean-fans', title: 'Fans', section: 'preheat', kind: 'cleaning', people: 1, needsElectrician: false, products: [], passIf: [{ value: 'airSpread', unit: '%' }] }
const word = fc.stringMatching(/^[A-Za-z0-9][A-Za-z0-9 ]{0,18}[A-Za-z0-9]$/)
const optional = <T>(arbitrary: fc.Arbitrary<T>): fc.Arbitrary<T | undefined> => fc.option(arbitrary, { nil: undefined })

const body: fc.Arbitrary<RecordBody> = fc
  .record({
    time: fc.integer({ min: Date.UTC(2026, 0), max: Date.UTC(2027, 0) }).map((timeMs) => new Date(timeMs).toISOString()),
    section: fc.constant('preheat'),
    work: fc.constant('clean-fans'),
    zone: optional(fc.integer({ min: 1, max: 12 })),
    finding: optional(fc.integer({ min: 0, max: 4 })),
    minutes: optional(fc.integer({ min: 0, max: 900 })),
    product: optional(word),
    remark: optional(word),
    by: optional(word),
    job: optional(word),
    suggestion: optional(word),
    values: optional(fc.dictionary(fc.constantFrom('airSpread', 'own-value'), fc.integer({ min: -99, max: 99 }), { minKeys: 1 })),
    passes: optional(fc.integer({ min: 1, max: 9 })),
    parts: optional(fc.array(word, { minLength: 1, maxLength: 3 })),
    lot: optional(word),
    washer: optional(fc.boolean()),
    people: optional(fc.integer({ min: 1, max: 9 })),
    handCheck: optional(fc.constantFrom('passed', 'failed')),
    surfaceC: optional(fc.integer({ min: -20, max: 300 })),
    deviation: optional(word),
    photo: optional(fc.constant({ name: 'a.png', type: 'image/png', size: 70, sha256: 'a'.repeat(64) })),
  })
  .map((said) => JSON.parse(JSON.stringify(said)) as RecordBody)

describe('a record in its form', () => {
  it('says the same again when nothing was changed, whatever it said', () => {
    fc.assert(
      fc.property(body, fc.constantFrom('UTC', 'America/Chicago'), fc.boolean(), (former, timeZone, isListed) => {
        const sent = recordFrom(draftOf('line-a', former, timeZone), { chosen: isListed ? CHOSEN : undefined, timeZone, job: undefined, former, photo: undefined })
        expect(sent).toEqual(former)
        expect(recordBodySchema.safeParse(sent).success).toBe(true)
      }),
    )
  })

  it('leaves values, job and product behind when it turns out to be of another work', () => {
    const former: RecordBody = { time: '2026-03-02T10:00:20.000Z', section: 'transport', work: 'clean-chain', job: 'j-1', values: { stretch: 3 }, finding: 2 }
    const draft = { ...draftOf('line-a', former, 'UTC'), work: 'clean-fans', zone: '2', values: {}, when: '2026-03-02T11:30' }
    expect(recordFrom(draft, { chosen: CHOSEN, timeZone: 'UTC', job: undefined, former, photo: undefined })).toEqual({ time: '2026-03-02T11:30:00.000Z', section: 'preheat', work: 'clean-fans', zone: 2, finding: 2 })
  })
})
