import { siteCatalogue } from '../site-catalogue.js'
import type { WorkItem } from '../work-catalogue.js'
import { dueItems, itemFacts, type DueItem } from './due-items.js'
import type { LineBook } from './line-book.js'
import type { WorkUnit } from './stop-schedule.js'
import { effortOf, stockOf } from './work-effort.js'

/**
 * Due work of a line as units for the plan: a job that must be followed at once by another is one unit with it, also
 * where the other is not due by itself.
 */
export function workUnits(book: LineBook): { readonly units: readonly WorkUnit[]; readonly items: readonly DueItem[] } {
  const due = dueItems(book)
  const catalogue = siteCatalogue(book.definition)
  const followOf = (work: string): WorkItem | undefined => catalogue.item(catalogue.item(work)?.followedBy ?? '')
  const stock = stockOf(book)
  for (const { parts } of due) for (const { item, ready } of parts) if (ready !== undefined) stock.set(item, Math.max(0, (stock.get(item) ?? 0) - 1))
  const taken = new Set<string>()
  const units: WorkUnit[] = []
  const leading = [...due].sort((a, b) => Number(followOf(b.work) !== undefined) - Number(followOf(a.work) !== undefined))
  for (const item of leading) {
    if (taken.has(item.id)) continue
    taken.add(item.id)
    const follow = followOf(item.work)
    if (follow === undefined) {
      units.push({ id: item.id, items: [item] })
      continue
    }
    const known = due.find(({ work, id }) => work === follow.id && !taken.has(id))
    if (known !== undefined) taken.add(known.id)
    units.push({ id: item.id, items: [item, known ?? followUp(item, follow, book, stock)] })
  }
  return { units, items: units.flatMap(({ items }) => items) }
}

function followUp(leader: DueItem, item: WorkItem, book: LineBook, stock: ReturnType<typeof stockOf>): DueItem {
  const { id: work, section } = item
  return {
    id: `${leader.id}+${work}`,
    line: leader.line,
    work,
    section,
    ...(leader.dueMs === undefined ? {} : { dueMs: leader.dueMs }),
    urgency: leader.urgency,
    safety: false,
    ...itemFacts(item, book),
    ...effortOf(work, undefined, [], book, stock),
    because: [{ key: 'because.follows', values: { work: leader.work, ...(leader.ownTitle === undefined ? {} : { 'work en-US': leader.ownTitle['en-US'], 'work es': leader.ownTitle.es }) } }],
    mustFinish: false,
  }
}
