const LENGTH_MAX = 80

/** A value as a short, printable text for messages to people: at most 80 characters, control characters blanked. */
export function shortened(value: unknown): string {
  let text: string
  if (typeof value === 'string') text = value.slice(0, LENGTH_MAX * 2)
  else if (value === undefined) text = 'nothing'
  else if (typeof value === 'object' && value !== null) text = objectText(value)
  else text = String(value)
  text = text.replaceAll(/[\u0000-\u001f\u007f-\u009f]/g, ' ')
  return text.length > LENGTH_MAX ? `${text.slice(0, LENGTH_MAX - 1)}…` : text
}

function objectText(value: object): string {
  // A value of the wire may be large or hold itself: only its outline is worth showing.
  if (Array.isArray(value)) return `array of ${value.length}`
  try {
    const keys = Object.keys(value)
    if (keys.length > 20) return `object with ${keys.length} names`
    return JSON.stringify(value) ?? 'object'
  } catch {
    return 'object'
  }
}
