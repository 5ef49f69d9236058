import { describe, expect, test } from 'vitest'
import { createLineStateTracker, type LineStateChange } from '../../../../src/line/state/line-state.js'
import { define, producing, START_MS, SyntheticLine } from './synthetic-line.js'

describe('temperatures and speed alone', () => {
  test('a day: off, warm-up, settling, production, stopped, off', () => {
    const line = producing()
    expect(line.states()).toEqual(['off', 'warm-up', 'settling', 'production'])
    line.speedMmS = 0
    line.run(10)
    line.speedMmS = 20
    line.run(30)
    line.speedMmS = 0
    line.heating = false
    line.run(60)
    expect(line.states().slice(4)).toEqual(['idle', 'production', 'idle', 'off'])
    expect(line.changes.every(({ timeMs }, index) => timeMs >= (line.changes[index - 1]?.timeMs ?? 0))).toBe(true)
    expect(line.recipes()).toHaveLength(2)
  })

  test('the next day stands at the same levels and has the same recipe', () => {
    const line = producing()
    const { recipe } = line.tracker
    line.speedMmS = 0
    line.heating = false
    line.run(8 * 60)
    line.heating = true
    line.run(15)
    line.speedMmS = 20
    line.run(40)
    expect(line.tracker).toMatchObject({ state: 'production', recipe })
    expect(recipe).toMatch(/^levels-1(09|10|11)-1(29|30|31)-1(49|50|51)-at-20\.\d$/)
  })

  test.each([1, 10, 30, 60])('readings every %i s tell the same states', (periodS) => {
    const line = new SyntheticLine()
    line.periodS = periodS
    line.run(20)
    line.heating = true
    line.run(15)
    line.speedMmS = 20
    line.run(60)
    line.speedMmS = 0
    line.run(10)
    expect(line.states()).toEqual(['off', 'warm-up', 'settling', 'production', 'idle'])
  })

  test('a line found hot and running settles and produces', () => {
    const line = new SyntheticLine({ startC: 130, setpointsC: [130, 130, 130] })
    line.heating = true
    line.speedMmS = 20
    line.run(30)
    expect(line.states()).toEqual(['settling', 'production'])
  })

  test('radiant zones with sensors on the element at 250-420 °C', () => {
    const line = producing({ setpointsC: [250, 330, 420] })
    line.run(60)
    expect(line.states()).toEqual(['off', 'warm-up', 'settling', 'production'])
  })
})

describe('what is no stop and no recipe', () => {
  function undisturbed(disturb: (line: SyntheticLine) => void, options?: Parameters<typeof producing>[0]): void {
    const line = producing(options)
    line.changes.length = 0
    const { recipe } = line.tracker
    disturb(line)
    expect(line.changes).toEqual([])
    expect(line.tracker).toMatchObject({ state: 'production', recipe })
  }

  test('a dip of the speed of seconds every minute, made up for afterwards, and now and then one of 20 s', () => {
    undisturbed((line) => line.run(90, (minute) => {
      line.speedMmS = 0
      line.run(0.1)
      line.speedMmS = 40
      line.run(0.1)
      line.speedMmS = 0
      line.run(minute % 30 === 15 ? 1 / 3 : 0)
      line.speedMmS = 20
    }))
  })

  test('a chain that has become jerky: 15 % from second to second', () => {
    undisturbed((line) => {
      line.jitterShare = 0.15
      line.run(240)
    })
  })

  test('a draught that moves all zones by up to 2.1 °C within minutes', () => {
    undisturbed((line) => line.run(180, (minute) => {
      line.commonC = 2.1 * Math.sin((2 * Math.PI * minute) / 25)
    }))
  })

  test('a slow thermocouple that makes its zone swing by 2.5 °C', () => {
    undisturbed((line) => line.run(180, (minute) => {
      line.addedC[1] = 2.5 * Math.sin((2 * Math.PI * minute) / 6)
    }))
  })

  test('a drift of 8 °C over ten hours', () => {
    undisturbed((line) => line.run(600, (minute) => {
      line.addedC[2] = (8 * minute) / 600
    }))
  })

  test('a speed that sinks by 6 % over a day', () => {
    undisturbed((line) => line.run(1440, (minute) => {
      line.speedMmS = 20 * (1 - (0.06 * minute) / 1440)
    }))
  })

  test('one zone whose sensor is silent, frozen or out of its mind', () => {
    undisturbed((line) => {
      line.publish.zones[1] = false
      line.run(60)
      line.publish.zones[1] = true
      line.addedC[1] = -100
      line.run(45)
      line.addedC[1] = 0
      line.run(60)
    })
  })
})

describe('changes without set-points', () => {
  test('a step of several zones and the speed is a changeover to a new recipe, and back to the known one', () => {
    const line = producing()
    const first = line.tracker.recipe
    line.changes.length = 0
    line.setpointsC = [125, 145, 165]
    line.speedMmS = 17
    line.run(60)
    expect(line.states()).toEqual(['changeover', 'production'])
    const second = line.tracker.recipe
    expect(second).toMatch(/^levels-12[456]-14[456]-16[456]-at-17\.\d$/)
    line.setpointsC = [110, 130, 150]
    line.speedMmS = 20
    line.run(60)
    expect(line.tracker.recipe).toBe(first)
    line.setpointsC = [125, 145, 165]
    line.speedMmS = 17
    line.run(60)
    expect(line.tracker.recipe).toBe(second)
  })

  test('a step of the speed alone is a new recipe within minutes', () => {
    const line = producing()
    const first = line.tracker.recipe
    line.speedMmS = 18.5
    line.run(5)
    expect(line.tracker).toMatchObject({ state: 'production' })
    expect(line.tracker.recipe).not.toBe(first)
    line.speedMmS = 20
    line.run(5)
    expect(line.tracker.recipe).toBe(first)
  })

  test('a step of one zone by 5 °C is found once it has stood', () => {
    const line = producing()
    const first = line.tracker.recipe
    line.setpointsC[2] = 155
    line.run(40)
    expect(line.tracker.recipe).not.toBe(first)
    line.setpointsC[2] = 150
    line.run(40)
    expect(line.tracker.recipe).toBe(first)
  })

  test('a heater that loses power lets its zone sink for half an hour: the recipe stays and production is seen again', () => {
    const line = producing()
    const { recipe } = line.tracker
    line.run(120, (minute) => {
      line.addedC[2] = -20 * (1 - Math.exp(-minute / 15))
    })
    expect(line.tracker).toMatchObject({ state: 'production', recipe })
  })

  test('a zone that cannot reach its level delays warm-up but does not hold it for ever', () => {
    const line = new SyntheticLine()
    line.publish.setpoints = true
    line.run(20)
    line.heating = true
    line.addedC[1] = -18
    line.run(15)
    line.speedMmS = 20
    line.run(60)
    expect(line.tracker.state).toBe('production')
  })

  test('a frozen sensor does not hold the line in warm-up', () => {
    const line = new SyntheticLine()
    line.run(20)
    line.heating = true
    line.publish.zones[0] = false
    line.run(40, () => line.give('preheat.zone-1.temperature', 28))
    expect(line.tracker.state).not.toBe('warm-up')
  })
})

describe('further channels', () => {
  test('several set-points within a minute are a changeover, one is an edit; both settle', () => {
    const line = new SyntheticLine()
    line.publish.setpoints = true
    line.run(20)
    line.heating = true
    line.run(15)
    line.speedMmS = 20
    line.run(60)
    expect(line.tracker.recipe).toMatch(/^setpoints-110-130-150-at-20\.\d$/)
    line.changes.length = 0
    line.setpointsC = [120, 140, 160]
    line.run(40)
    // The first set-point alone is an edit; the second within the minute makes it a changeover.
    expect(line.states()).toEqual(['settling', 'changeover', 'production'])
    expect(line.tracker.recipe).toMatch(/^setpoints-120-140-160/)
    line.changes.length = 0
    line.setpointsC[0] = 121
    line.run(40)
    expect(line.states()).toEqual(['settling', 'production'])
    expect(line.changes[0]?.because).toBe('state.by-setpoints')
  })

  test('no boards for minutes is idle, the next board is production', () => {
    const line = producing()
    line.publish.boards = true
    line.boardEveryS = 30
    line.run(60)
    line.changes.length = 0
    line.boardEveryS = 0
    line.run(10)
    expect(line.changes).toMatchObject([{ state: 'idle', because: 'state.by-boards' }])
    line.boardEveryS = 30
    line.run(2)
    expect(line.tracker.state).toBe('production')
  })

  test('pauses of loading by hand, seven minutes on and three off, are production', () => {
    const line = producing()
    line.publish.boards = true
    line.boardEveryS = 30
    line.run(60)
    line.changes.length = 0
    line.run(300, (minute) => {
      line.boardEveryS = minute % 10 < 7 ? 30 : 0
    })
    expect(line.changes).toEqual([])
  })

  test('boards that are counted prove that the chain moves', () => {
    const line = producing()
    line.publish.boards = true
    line.boardEveryS = 30
    line.run(60)
    line.changes.length = 0
    line.speedMmS = 0
    line.run(20)
    expect(line.changes).toEqual([])
  })

  test('the recipe of the machine counts at once, and a change of it is a changeover', () => {
    const line = producing()
    line.give('line.recipe', 'A')
    expect(line.tracker).toMatchObject({ state: 'production', recipe: 'A' })
    line.give('line.recipe', 'B')
    expect(line.tracker).toMatchObject({ state: 'changeover', recipe: 'B' })
    line.run(30)
    expect(line.tracker).toMatchObject({ state: 'production', recipe: 'B' })
  })

  test('the machine\'s own word tells what no sensor shows, but not that a cold line produces', () => {
    const line = producing()
    line.give('line.state', 'Maintenance')
    expect(line.tracker.state).toBe('maintenance')
    line.run(30)
    line.give('line.state', 'RUN')
    expect(line.tracker.state).toBe('run-in')
    line.run(89)
    expect(line.tracker.state).toBe('run-in')
    line.run(3)
    expect(line.tracker.state).toBe('production')
    line.speedMmS = 0
    line.heating = false
    line.run(60)
    expect(line.tracker.state).toBe('off')
  })

  test('work that was noted makes an hour and a half of run-in; old work does not', () => {
    const line = producing()
    line.tracker.noteWork(line.timeMs)
    line.run(1)
    expect(line.tracker.state).toBe('run-in')
    line.run(95)
    expect(line.tracker.state).toBe('production')
    line.tracker.noteWork(line.timeMs - 9 * 3_600_000)
    line.run(5)
    expect(line.tracker.state).toBe('production')
  })

  test('a pump at rest is idle where no boards are counted', () => {
    const line = producing()
    line.give('pot.pump-speed', 60)
    expect(line.tracker.pump).toEqual({ running: 'yes', sinceMs: line.timeMs })
    const stoppedMs = line.timeMs + 1000
    line.run(5, () => {
      line.give('pot.pump-speed', 0)
    })
    expect(line.tracker).toMatchObject({ state: 'idle', pump: { running: 'no' } })
    expect(line.tracker.pump.sinceMs).toBeLessThanOrEqual(stoppedMs)
  })
})

describe('the tracker itself', () => {
  test('before the first reading it is off and knows no recipe', () => {
    expect(createLineStateTracker(define())).toMatchObject({ state: 'off', recipe: 'unknown', sinceMs: 0, zonesSteadySinceMs: 0, pump: { running: 'unknown', sinceMs: 0 } })
  })

  test('going on from a snapshot through JSON gives the same changes', () => {
    const definition = define()
    const readings: { channel: string; timeMs: number; value: number | string }[] = []
    const recorder = new SyntheticLine()
    recorder.give = (channel, value) => {
      readings.push({ channel, timeMs: recorder.timeMs, value })
    }
    recorder.publish = { setpoints: false, boards: true, speed: true, zones: [true, true, true] }
    recorder.boardEveryS = 40
    recorder.run(15)
    recorder.heating = true
    recorder.run(14)
    recorder.speedMmS = 20
    recorder.run(45)
    recorder.setpointsC = [130, 150, 170]
    recorder.run(45)
    const through = (reloadEvery: number): LineStateChange[] => {
      const changes: LineStateChange[] = []
      let tracker = createLineStateTracker(definition)
      readings.forEach((reading, index) => {
        if (reloadEvery > 0 && index % reloadEvery === 0) tracker = createLineStateTracker(definition, JSON.parse(JSON.stringify(tracker.snapshot())))
        tracker.take(reading, (change) => changes.push(change))
      })
      return changes
    }
    const plain = through(0)
    expect(plain.length).toBeGreaterThan(4)
    expect(through(997)).toEqual(plain)
  })

  test('a snapshot of another version is refused', () => {
    expect(() => createLineStateTracker(define(), { version: 99 })).toThrow('version 99')
  })

  test('a clock set back begins anew without losing the state', () => {
    const line = producing()
    line.timeMs -= 3 * 3_600_000
    line.run(30)
    expect(line.tracker.state).toBe('production')
    expect(line.timeMs).toBeGreaterThan(START_MS - 3 * 3_600_000)
  })
})
