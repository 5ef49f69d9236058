/** What the service tells on its own: the kinds of its event stream. */
export type LiveKind = 'state' | 'point' | 'rule-hit' | 'signal' | 'baseline' | 'suggestion' | 'fact' | 'insight'

const KINDS: readonly LiveKind[] = ['state', 'point', 'rule-hit', 'signal', 'baseline', 'suggestion', 'fact', 'insight']

export interface LiveListener {
  /** Called at most once in `pauseMs` with the kinds that came in since. */
  changed(kinds: ReadonlySet<LiveKind>): void
  /** Whether the stream stands. */
  connected(stands: boolean): void
}

/**
 * Follows the service's event stream. Accelerated lines bring hundreds of points a second; the page reads again after a
 * pause instead of drawing each.
 */
export function followLive(pauseMs: number, listener: LiveListener): () => void {
  const source = new EventSource('./api/events')
  const pending = new Set<LiveKind>()
  let timer: ReturnType<typeof setTimeout> | undefined
  const tell = (): void => {
    timer = undefined
    const kinds = new Set(pending)
    pending.clear()
    listener.changed(kinds)
  }
  for (const kind of KINDS) {
    source.addEventListener(kind, () => {
      pending.add(kind)
      timer ??= setTimeout(tell, kind === 'suggestion' || kind === 'fact' ? 200 : pauseMs)
    })
  }
  const readAnew = (): void => {
    for (const kind of KINDS) pending.add(kind)
    timer ??= setTimeout(tell, 0)
  }
  // The service no longer knows what was missed: everything is read again.
  source.addEventListener('missed', readAnew)
  let wasLost = false
  source.addEventListener('open', () => {
    listener.connected(true)
    // What was read meanwhile may have come from what the device kept.
    if (wasLost) readAnew()
    wasLost = false
  })
  source.addEventListener('error', () => {
    wasLost = true
    listener.connected(false)
  })
  return () => {
    source.close()
    if (timer !== undefined) clearTimeout(timer)
  }
}
