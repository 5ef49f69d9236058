/** A line definition while it is being written: plain JSON, checked by the service. */
export type Draft = Readonly<Record<string, unknown>>

export interface Fault {
  readonly path: string
  readonly message: string
}

type Step = string | number

/** Parts of a path such as `machine.zones[2].kind`. */
export function stepsOf(path: string): Step[] {
  return path.split(/[.[\]]+/).filter((part) => part !== '').map((part) => (/^\d+$/.test(part) ? Number(part) : part))
}

/** The value at a path; undefined where there is none. */
export function valueAt(draft: unknown, path: string): unknown {
  return stepsOf(path).reduce<unknown>((value, step) => (typeof value === 'object' && value !== null ? (value as Record<Step, unknown>)[step] : undefined), draft)
}

/** The draft with another value at a path; `undefined` takes the key out, and objects left empty go with it. */
export function withValue(draft: Draft, path: string, value: unknown): Draft {
  return (changed(draft, stepsOf(path), value) ?? {}) as Draft
}

function changed(part: unknown, [step, ...rest]: readonly Step[], value: unknown): unknown {
  if (step === undefined) return value
  if (typeof step === 'number') {
    const list = Array.isArray(part) ? [...(part as unknown[])] : []
    list[step] = changed(list[step], rest, value) ?? {}
    return list
  }
  const next = { ...(typeof part === 'object' && part !== null ? (part as Record<string, unknown>) : {}) }
  const inside = changed(next[step], rest, value)
  if (inside === undefined || inside === '') delete next[step]
  else next[step] = inside
  return Object.keys(next).length === 0 && rest.length === 0 && value === undefined ? undefined : next
}

/** Faults at a path or inside it. */
export function faultsAt(faults: readonly Fault[], path: string): readonly Fault[] {
  return faults.filter((fault) => fault.path === path || fault.path.startsWith(`${path}.`) || fault.path.startsWith(`${path}[`))
}

/** What a payload seems to hold, and the path of its value: a bare number, or the first number of a JSON object. */
export function valueInPayload(payload: string): { readonly path: string; readonly value: string } | undefined {
  const text = payload.trim()
  if (text !== '' && Number.isFinite(Number(text))) return { path: '', value: text }
  try {
    return firstNumber(JSON.parse(text), '')
  } catch {
    return undefined
  }
}

/** The path of what names itself as the time of a JSON payload; empty where nothing does. */
export function timeInPayload(payload: string): { readonly time?: string } {
  try {
    const time = firstTime(JSON.parse(payload), '')
    return time === undefined ? {} : { time }
  } catch {
    return {}
  }
}

function firstTime(part: unknown, path: string): string | undefined {
  if (typeof part !== 'object' || part === null) return undefined
  const below = (name: string): string => (path === '' ? name : `${path}.${name}`)
  const own = Object.entries(part).find(([name, inside]) => /^(t|ts|time|timestamp)$/i.test(name) && ['number', 'string'].includes(typeof inside))
  if (own !== undefined) return below(own[0])
  for (const [name, inside] of Object.entries(part)) {
    const found = firstTime(inside, below(name))
    if (found !== undefined) return found
  }
  return undefined
}

function firstNumber(part: unknown, path: string): { readonly path: string; readonly value: string } | undefined {
  if (typeof part === 'number') return { path, value: String(part) }
  if (typeof part !== 'object' || part === null) return undefined
  const entries = Object.entries(part).sort(([a], [b]) => Number(/^(v|val|value|wert|valor)$/i.test(b)) - Number(/^(v|val|value|wert|valor)$/i.test(a)))
  for (const [name, inside] of entries) {
    if (/^(t|ts|time|timestamp|seq|quality)$/i.test(name)) continue
    const found = firstNumber(inside, path === '' ? name : `${path}.${name}`)
    if (found !== undefined) return found
  }
  return undefined
}
