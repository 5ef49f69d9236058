/** Normal values from a seed (mulberry32 and the polar method), the same on every machine. */
export function normalSource(seed: number): () => number {
  let state = seed | 0
  const uniform = (): number => {
    state = (state + 0x6d2b79f5) | 0
    let t = Math.imul(state ^ (state >>> 15), 1 | state)
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
    return (((t ^ (t >>> 14)) >>> 0) + 0.5) / 4294967296
  }
  return () => {
    for (;;) {
      const a = 2 * uniform() - 1
      const b = 2 * uniform() - 1
      const r = a * a + b * b
      if (r > 0 && r < 1) return a * Math.sqrt((-2 * Math.log(r)) / r)
    }
  }
}
