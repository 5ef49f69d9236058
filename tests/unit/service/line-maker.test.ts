import { describe, expect, it } from 'vitest'
import { untilThere } from '../../../src/service/line-maker.js'

describe('a line that has been made', () => {
  it('is waited for until its nodes have started, and not for ever', async () => {
    let looks = 0
    expect(await untilThere(() => ++looks > 5, 1000, 1)).toBe(true)
    expect(looks).toBe(6)
    looks = 0
    expect(await untilThere(() => ++looks > 50, 10, 1)).toBe(false)
    expect(looks).toBe(11)
    expect(await untilThere(() => true, 0, 1)).toBe(true)
  })
})
