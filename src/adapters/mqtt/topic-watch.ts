import mqtt from 'mqtt'

/** A topic that something publishes on, with the last payload seen. */
export interface SeenTopic {
  readonly topic: string
  /** Beginning of the payload as text. */
  readonly payload: string
  readonly count: number
  readonly retained: boolean
}

const TOPICS_MAX = 1000
const PAYLOAD_CHARS_MAX = 200

/**
 * Listens to everything a broker lets us hear for a while, with a session of its own that leaves nothing behind.
 *
 * @param listenMs how long
 * @returns topics in the order of their names; those of the broker itself (`$…`) are left out
 * @throws Error, as a rejected promise, if the broker cannot be reached or refuses
 */
export async function watchTopics(access: { readonly url: string; readonly user?: string; readonly password?: string }, listenMs: number): Promise<readonly SeenTopic[]> {
  const { url, user, password } = access
  const client = await mqtt.connectAsync(url, { clean: true, reconnectPeriod: 0, connectTimeout: 5000, ...(user === undefined ? {} : { username: user }), ...(password === undefined ? {} : { password }) }, false)
  const seen = new Map<string, SeenTopic>()
  let fault: (error: Error) => void = () => undefined
  const broken = new Promise<never>((_, reject) => (fault = reject))
  // Nobody may be left to hear of it when it comes.
  broken.catch(() => undefined)
  client.on('error', (error) => fault(error))
  client.on('close', () => fault(new Error('the broker closed the connection')))
  let timer: ReturnType<typeof setTimeout> | undefined
  const over = new Promise<void>((resolve) => (timer = setTimeout(resolve, listenMs)))
  try {
    client.on('message', (topic, payload, packet) => {
      const before = seen.get(topic)
      if (before === undefined && seen.size >= TOPICS_MAX) return
      seen.set(topic, { topic, payload: payload.toString('utf8', 0, PAYLOAD_CHARS_MAX * 4).slice(0, PAYLOAD_CHARS_MAX), count: (before?.count ?? 0) + 1, retained: packet.retain })
    })
    const subscribed = client.subscribeAsync('#', { qos: 0 }).then(() => true)
    const isHeard = await Promise.race([subscribed, over.then(() => false), broken])
    if (!isHeard) throw new Error('the broker did not answer the subscription in time')
    await Promise.race([over, broken])
  } finally {
    clearTimeout(timer)
    await client.endAsync(true)
  }
  return [...seen.values()].sort((a, b) => a.topic.localeCompare(b.topic))
}
