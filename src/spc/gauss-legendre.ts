/** Nodes in (-1, 1), ascending, and weights of a Gauss-Legendre rule. */
export interface QuadratureRule {
  readonly nodes: Float64Array
  readonly weights: Float64Array
}

const rules = new Map<number, QuadratureRule>()
const RULES_MAX = 256

/** Gauss-Legendre rule with `n` nodes, by Newton's method on the Legendre polynomial; kept, since designs ask for few sizes. */
export function gaussLegendre(n: number): QuadratureRule {
  if (!(Number.isInteger(n) && n >= 1 && n <= 2000)) throw new Error(`gaussLegendre: expected 1 to 2000 nodes, got ${n}`)
  const known = rules.get(n)
  if (known !== undefined) return known
  const nodes = new Float64Array(n)
  const weights = new Float64Array(n)
  for (let i = 0; i < Math.ceil(n / 2); i++) {
    let x = Math.cos((Math.PI * (i + 0.75)) / (n + 0.5))
    let slope = 1
    for (let step = 0; step < 100; step++) {
      let previous = 1
      let current = x
      for (let degree = 2; degree <= n; degree++) {
        const next = ((2 * degree - 1) * x * current - (degree - 1) * previous) / degree
        previous = current
        current = next
      }
      if (n === 1) previous = 1
      slope = (n * (x * current - previous)) / (x * x - 1)
      const change = current / slope
      x -= change
      if (Math.abs(change) < 1e-15) break
    }
    const weight = 2 / ((1 - x * x) * slope * slope)
    nodes[i] = -x
    nodes[n - 1 - i] = x
    weights[i] = weight
    weights[n - 1 - i] = weight
  }
  if (n % 2 === 1) nodes[(n - 1) / 2] = 0
  if (rules.size >= RULES_MAX) rules.clear()
  const rule = { nodes, weights }
  rules.set(n, rule)
  return rule
}
