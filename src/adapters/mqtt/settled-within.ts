/** Resolves when `work` has settled, either way, or after `timeMs`. */
export function settledWithin(work: Promise<unknown>, timeMs: number): Promise<void> {
  return new Promise((resolve) => {
    const timer = setTimeout(resolve, timeMs)
    const settled = (): void => {
      clearTimeout(timer)
      resolve()
    }
    work.then(settled, settled)
  })
}
