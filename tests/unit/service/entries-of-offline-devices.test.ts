import { expect, it } from 'vitest'
import { notAhead } from '../../../src/service/entry-inputs.js'

const line = (simulated: boolean) => ({ definition: { simulated }, nowMs: () => 1000 })

it('what a device wrote down by its own clock means now on a line whose clock is simulated, and keeps its time on a real one', () => {
  expect(notAhead({ id: 'a', timeMs: 5000 }, line(true))).toEqual({ id: 'a', timeMs: 1000 })
  expect(notAhead({ id: 'a', timeMs: 400 }, line(true))).toEqual({ id: 'a', timeMs: 400 })
  expect(notAhead({ id: 'a', timeMs: 5000 }, line(false))).toEqual({ id: 'a', timeMs: 5000 })
})
