import { DeliveryDelayedError, DeliveryRefusedError, type Deliver } from '../../ports/delivery.js'

/** Answers that say the message itself is wrong: sending it again would change nothing. */
const REFUSALS = new Set([400, 405, 406, 410, 413, 415, 422])
const ANSWER_LENGTH_MAX = 200

export interface WebhookOptions {
  /** Time for the whole call, ms. @default 10_000 */
  readonly timeoutMs?: number
  /** Further headers by target, e.g. an authorization from the credentials. */
  readonly headersOf?: (target: string) => Readonly<Record<string, string>>
}

/**
 * Delivers outbox items by HTTP POST. The item's id goes along as `Idempotency-Key`, so that a receiver recognises a
 * message it already has. Redirects are not followed: the address is the one in the line definition and no other.
 */
export function createWebhookDelivery(options: WebhookOptions = {}): Deliver {
  const timeoutMs = options.timeoutMs ?? 10_000
  return async (item) => {
    const response = await post(item.target, item.payload, {
      'content-type': 'application/json',
      'user-agent': 'wave-solder-spc',
      ...options.headersOf?.(item.target),
      'idempotency-key': item.id,
    }, timeoutMs)
    if (response.ok) {
      await response.body?.cancel()
      return
    }
    const message = `answer ${response.status} ${(await textOf(response)).trim()}`.trim()
    if (REFUSALS.has(response.status)) throw new DeliveryRefusedError(message)
    const afterMs = retryAfterMs(response)
    throw afterMs === undefined ? new Error(message) : new DeliveryDelayedError(message, afterMs)
  }
}

async function post(url: string, body: string, headers: Record<string, string>, timeoutMs: number): Promise<Response> {
  try {
    return await fetch(url, { method: 'POST', body, headers, redirect: 'manual', signal: AbortSignal.timeout(timeoutMs) })
  } catch (error) {
    // The reason stands in the cause ("fetch failed" alone says nothing).
    const cause = error instanceof Error && error.cause instanceof Error ? error.cause.message : ''
    throw new Error(`no answer: ${error instanceof Error ? error.message : String(error)}${cause === '' ? '' : ` (${cause})`}`, { cause: error })
  }
}

/** The beginning of the answer's body; a receiver may send any amount. */
async function textOf(response: Response): Promise<string> {
  const reader = response.body?.getReader()
  if (reader === undefined) return ''
  const { value } = await reader.read().catch(() => ({ value: undefined }))
  await reader.cancel().catch(() => undefined)
  return value === undefined ? '' : new TextDecoder().decode(value).slice(0, ANSWER_LENGTH_MAX)
}

/** `Retry-After` in seconds (RFC 9110, 10.2.3); the form with a date is not used, since clocks differ. */
function retryAfterMs(response: Response): number | undefined {
  const seconds = Number(response.headers.get('retry-after') ?? Number.NaN)
  return Number.isFinite(seconds) && seconds > 0 ? seconds * 1_000 : undefined
}
