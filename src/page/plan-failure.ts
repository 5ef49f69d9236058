/** What went wrong, in the words of whoever said it. */
export function failureText(error: unknown): string {
  return error instanceof Error ? error.message : String(error)
}
