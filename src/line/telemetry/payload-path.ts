/** Steps from the root of a JSON value, e.g. `data.values.0`; an empty path is the root itself. */
export type PayloadPath = readonly string[]

/** What lies at a path, or that nothing does. */
export type PathResult = { readonly kind: 'found'; readonly value: unknown } | { readonly kind: 'missing' }

const MISSING: PathResult = { kind: 'missing' }

/** Steps that reach into the language's own machinery; no payload has a use for them. */
const REFUSED = new Set(['__proto__', 'constructor', 'prototype'])

/**
 * Cuts a path at its dots; `\.` stands for a dot inside a name.
 *
 * @throws Error if a step is one of `__proto__`, `constructor`, `prototype`
 */
export function parsePath(path: string): PayloadPath {
  if (path === '') return []
  const steps = path.split(/(?<!\\)\./).map((step) => step.replaceAll('\\.', '.'))
  const refused = steps.find((step) => REFUSED.has(step))
  if (refused !== undefined) throw new Error(`payload path "${path}" holds "${refused}"; expected names of the payload only`)
  return steps
}

/** Walks a path over own properties and array positions only. */
export function walkPath(root: unknown, path: PayloadPath): PathResult {
  let value = root
  for (const step of path) {
    if (typeof value !== 'object' || value === null || REFUSED.has(step)) return MISSING
    if (Array.isArray(value) ? !/^\d+$/.test(step) : false) return MISSING
    if (!Object.hasOwn(value, step)) return MISSING
    value = (value as Record<string, unknown>)[step]
  }
  return value === undefined ? MISSING : { kind: 'found', value }
}
