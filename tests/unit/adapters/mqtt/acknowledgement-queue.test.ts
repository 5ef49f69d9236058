import { describe, expect, it } from 'vitest'
import { AcknowledgementQueue } from '../../../../src/adapters/mqtt/acknowledgement-queue.js'

describe('held acknowledgements', () => {
  it('leave in the order of arrival, many in one go', async () => {
    const released: (readonly number[])[] = []
    const queue = new AcknowledgementQueue((ids) => released.push(ids))
    const settle = [11, 12, undefined, 14, 15].map((id) => queue.hold(id))
    settle[3]?.()
    settle[1]?.()
    await turn()
    expect(released.flat()).toEqual([])
    expect(queue.length).toBe(5)
    released.length = 0
    settle[0]?.()
    settle[2]?.()
    await turn()
    expect(released).toEqual([[11, 12, 14]])
    expect(queue.length).toBe(1)
    settle[4]?.()
    await turn()
    expect(released.flat()).toEqual([11, 12, 14, 15])
  })

  it('do not leave any more once the connection is gone', async () => {
    const released: (readonly number[])[] = []
    const queue = new AcknowledgementQueue((ids) => released.push(ids))
    const before = queue.hold(1)
    const after = queue.hold(2)
    before()
    queue.end()
    after()
    await turn()
    queue.releaseSettled()
    expect(released).toEqual([])
  })

  it('stay cheap over a long run', async () => {
    let count = 0
    const queue = new AcknowledgementQueue((ids) => (count += ids.length))
    for (let round = 0; round < 20; round += 1) {
      const settles = Array.from({ length: 500 }, (_, index) => queue.hold(index))
      for (const settle of settles) settle()
      queue.releaseSettled()
    }
    await turn()
    expect(count).toBe(10_000)
    expect(queue.length).toBe(0)
  })
})

function turn(): Promise<void> {
  return new Promise((resolve) => setImmediate(() => setImmediate(resolve)))
}
