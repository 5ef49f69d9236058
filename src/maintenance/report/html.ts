/** Markup that is safe as it stands; only `html` makes it. */
export class Html {
  constructor(readonly text: string) {}
}

export type HtmlPart = string | number | Html | undefined | readonly HtmlPart[]

/**
 * Markup from a template: whatever is filled in is text and is escaped, in content and in quoted attributes alike,
 * unless it was made by this function itself. There is no other way to make markup.
 */
export function html(parts: TemplateStringsArray, ...values: readonly HtmlPart[]): Html {
  return new Html(parts.reduce((text, part, index) => `${text}${rendered(values[index - 1])}${part}`))
}

function rendered(value: HtmlPart): string {
  if (value === undefined) return ''
  if (value instanceof Html) return value.text
  if (typeof value === 'number') return Number.isFinite(value) ? String(value) : ''
  if (typeof value === 'string') return escaped(value)
  return value.map(rendered).join('')
}

const ENTITIES: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' }

/** Control characters no document may hold are left out. */
function escaped(text: string): string {
  return text.replaceAll(/[\u0000-\u0008\u000B\u000C\u000E-\u001F\u007F\uFFFE\uFFFF]/g, '').replaceAll(/[&<>"']/g, (character) => ENTITIES[character]!)
}
