import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { TopicTree } from '../../../../src/adapters/mqtt/topic-tree.js'

function matches(filters: readonly string[], topic: string): string[] {
  const tree = new TopicTree<string>()
  for (const filter of filters) tree.add(filter, filter)
  return [...tree.match(topic)].sort()
}

describe('topics and filters', () => {
  it.each([
    ['a/b', ['a/b', 'a/+', '+/b', '#', 'a/#', 'a/b/#'], ['a', 'a/b/c', 'a/b/+', 'b/#', '+', 'A/b']],
    ['a', ['a', '+', '#', 'a/#'], ['a/+', '/a', '']],
    ['a//c', ['a/+/c', 'a//c', 'a/#'], ['a/c', 'a/+']],
    ['/a', ['/a', '+/a', '/#', '#'], ['a', '+']],
    ['$SYS/broker', ['$SYS/#', '$SYS/+'], ['#', '+/broker', '+/#']],
  ])('for %s fit %j and not %j', (topic, fitting, others) => {
    expect(matches([...fitting, ...others], topic)).toEqual([...fitting].sort())
  })

  it('give a value once, however many of its filters fit, until the last is removed', () => {
    const tree = new TopicTree<number>()
    for (const filter of ['a/+', 'a/#', 'a/b']) tree.add(filter, 1)
    expect([...tree.match('a/b')]).toEqual([1])
    tree.remove('a/+', 1)
    tree.remove('a/#', 1)
    tree.remove('a/c', 1)
    expect([...tree.match('a/b')]).toEqual([1])
    tree.remove('a/b', 1)
    expect([...tree.match('a/b')]).toEqual([])
  })

  it('agree with a level-by-level comparison', () => {
    const level = fc.constantFrom('a', 'b', '')
    const filterLevel = fc.constantFrom('a', 'b', '', '+')
    const filter = fc.tuple(fc.array(filterLevel, { minLength: 1, maxLength: 3 }), fc.boolean()).map(([levels, deep]) => [...levels, ...(deep ? ['#'] : [])].join('/'))
    fc.assert(
      fc.property(fc.uniqueArray(filter, { maxLength: 6 }), fc.array(level, { minLength: 1, maxLength: 4 }), (filters, levels) => {
        expect(matches(filters, levels.join('/'))).toEqual(filters.filter((one) => fits(one.split('/'), levels)).sort())
      }),
    )
  })
})

function fits(filter: readonly string[], topic: readonly string[]): boolean {
  for (let index = 0; index < filter.length; index += 1) {
    if (filter[index] === '#') return true
    if (index >= topic.length || (filter[index] !== '+' && filter[index] !== topic[index])) return false
  }
  return filter.length === topic.length
}
