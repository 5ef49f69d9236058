/** Fields of the editor arrive as texts, from a flow file perhaps as numbers; an environment variable that is not set stays as its name. */
export function textOf(field: unknown): string {
  if (typeof field === 'number' || typeof field === 'boolean') return String(field)
  return typeof field === 'string' && !/^\$\{[^}]*\}$/.test(field) ? field.trim() : ''
}

/** A number within bounds, or undefined for anything else. */
export function numberIn(field: unknown, bounds: { readonly min: number; readonly max: number }): number | undefined {
  const text = textOf(field)
  const number = Number(text)
  return text !== '' && number >= bounds.min && number <= bounds.max ? number : undefined
}
