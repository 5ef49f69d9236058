import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { identify, settled, type KnownMessage, type UnmarkedMessage } from '../../../src/service/message-identity.js'

const MINUTE = 60_000
const HOUR = 60 * MINUTE

/** @param cut the acknowledgement never leaves */
function idOf(known: KnownMessage[], message: Partial<UnmarkedMessage>, clockMs: number, cut = false): string {
  const found = identify(known, { topic: 'a/records', payload: 'x', dup: false, isStep: false, underWay: new Set(), ...message }, clockMs, clockMs)
  known.splice(0, known.length, ...(cut ? found.known : settled(found.known, found.identity.id)))
  return found.identity.id
}

describe('a message without an id or a time', () => {
  it('is the same when it comes again soon, and another hours later', () => {
    const known: KnownMessage[] = []
    const first = idOf(known, { messageId: 1 }, 0)
    expect(idOf(known, { messageId: 2 }, 15 * MINUTE)).toBe(first)
    const second = idOf(known, { messageId: 3 }, 3 * HOUR)
    expect(second).not.toBe(first)
    expect(idOf(known, { payload: 'y' }, 3 * HOUR)).not.toBe(second)
    expect(idOf(known, { topic: 'a/entries' }, 3 * HOUR)).not.toBe(second)
  })

  it('is the same when the broker delivers it again, however long the service was away', () => {
    const known: KnownMessage[] = []
    const first = idOf(known, { messageId: 7 }, 0)
    expect(idOf(known, { messageId: 7, dup: true }, 60 * HOUR)).toBe(first)
    // Its identifier has been given to another message since: this one was never here.
    idOf(known, { messageId: 7, payload: 'y' }, 61 * HOUR)
    expect(idOf(known, { messageId: 7, dup: true }, 62 * HOUR)).not.toBe(first)
  })

  it('is the same when it was never acknowledged, though the broker does not say that it delivers again', () => {
    const known: KnownMessage[] = []
    const first = idOf(known, { messageId: 7 }, 0, true)
    expect(idOf(known, { messageId: 8 }, 60 * HOUR)).toBe(first)
    expect(idOf(known, { messageId: 9 }, 120 * HOUR)).not.toBe(first)
    // Without an acknowledgement to wait for nothing is delivered again.
    const other = idOf(known, { payload: 'y' }, 0, true)
    expect(idOf(known, { payload: 'y' }, 60 * HOUR)).not.toBe(other)
  })

  it('that comes while an equal step is still being taken is another step', () => {
    const known: KnownMessage[] = []
    const first = idOf(known, { payload: 'pause', isStep: true, messageId: 1 }, 0, true)
    idOf(known, { payload: 'resume', isStep: true, messageId: 2, underWay: new Set([first]) }, 1, true)
    expect(idOf(known, { payload: 'pause', isStep: true, messageId: 3, underWay: new Set([first]) }, 2)).not.toBe(first)
  })

  it('that is a step is the same only right after itself: paused, gone on, paused again are three', () => {
    const known: KnownMessage[] = []
    const step = (payload: string, clockMs: number): string => idOf(known, { payload, isStep: true }, clockMs)
    const ids = [step('pause', 0), step('resume', MINUTE), step('pause', 2 * MINUTE)]
    expect(new Set(ids).size).toBe(3)
    expect(step('pause', 3 * MINUTE)).toBe(ids[2])
  })

  it('never takes two equal ones that lie further apart for one, nor one sent again at once for two', () => {
    const message = fc.record({ payload: fc.constantFrom('x', 'y', 'z'), gapMs: fc.integer({ min: 0, max: 2 * HOUR }), again: fc.integer({ min: 0, max: 2 }) })
    fc.assert(
      fc.property(fc.array(message, { maxLength: 60 }), (messages) => {
        const known: KnownMessage[] = []
        let clockMs = 0
        const last = new Map<string, { clockMs: number; id: string }>()
        messages.forEach(({ payload, gapMs, again }, index) => {
          clockMs += gapMs
          const id = idOf(known, { payload, messageId: index }, clockMs)
          const before = last.get(payload)
          if (before !== undefined) expect(id === before.id).toBe(clockMs - before.clockMs <= 15 * MINUTE)
          if (before?.id !== id) last.set(payload, { clockMs, id })
          for (let times = 0; times < again; times += 1) expect(idOf(known, { payload, messageId: index, dup: true }, clockMs)).toBe(id)
          expect(known.length).toBeLessThanOrEqual(200)
        })
      }),
    )
  })
})
