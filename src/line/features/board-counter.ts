/** Boards per slot from a counter that only goes up, or starts again. Plain JSON. */
export interface BoardCounter {
  seen: boolean
  last: number
  inSlot: number
}

/** A counter that jumps further than this at once was set, not counted. */
const STEP_MAX = 1000

export function createBoardCounter(): BoardCounter {
  return { seen: false, last: 0, inSlot: 0 }
}

export function noteBoardCount(counter: BoardCounter, count: number): void {
  if (counter.seen) {
    const step = count >= counter.last ? count - counter.last : count
    if (step <= STEP_MAX) counter.inSlot += step
  }
  counter.seen = true
  counter.last = count
}

/** Boards of the slot that ends; -1 where nothing has ever been counted. */
export function takeSlotBoards(counter: BoardCounter): number {
  const boards = counter.seen ? counter.inSlot : -1
  counter.inSlot = 0
  return boards
}
