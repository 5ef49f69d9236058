/** Work on pictures one frame may take; the rest of its 16 ms belongs to the browser. */
const FRAME_MS = 5

const waiting = new Map<object, () => void>()
const asking: (() => void)[] = []
let asked = false

/**
 * Draws soon, a few pictures a frame, so that news for twenty charts do not stop the page for the time of all. Asked again
 * before its turn, an owner keeps its place and only its last picture is drawn.
 */
export function drawInTurn(owner: object, draw: () => void): void {
  waiting.set(owner, draw)
  begin()
}

/** Until one of the next frames, one caller each: so that twenty charts neither ask at once nor show what they got at once. */
export function askInTurn(): Promise<void> {
  return new Promise((resolve) => {
    asking.push(resolve)
    begin()
  })
}

function begin(): void {
  if (asked) return
  asked = true
  requestAnimationFrame(takeTurns)
}

/** What an owner still wanted to draw is no longer wanted. */
export function forgetTurn(owner: object): void {
  waiting.delete(owner)
}

function takeTurns(): void {
  const untilMs = performance.now() + FRAME_MS
  asking.shift()?.()
  for (const [owner, draw] of waiting) {
    waiting.delete(owner)
    draw()
    if (performance.now() >= untilMs) break
  }
  asked = waiting.size > 0 || asking.length > 0
  if (asked) requestAnimationFrame(takeTurns)
}
