/**
 * Expected run lengths of a chart seen as a Markov chain that is left when the chart signals.
 *
 * The elimination never subtracts (Grassmann, Taksar & Heyman 1985): the probability of leaving is given with each state,
 * not found as one minus a row sum. So a mean run length of 1e9 comes out with the same relative accuracy as one of 10,
 * where plain elimination would lose nine digits.
 */
export interface AbsorbingChain {
  readonly stateCount: number
  /** Expected sum of `reward` over the visits, for every starting state; with rewards of 1 the mean run length. */
  expectedTotal(reward: Float64Array): Float64Array
  /** Expected visits to every state before leaving, from a distribution over starting states (or any weights). */
  expectedVisits(start: Float64Array): Float64Array
  /** Long-run distribution over the states given that the chain was not left yet. */
  quasiStationary(): Float64Array
}

/**
 * @param moves row-major probabilities (or quadrature weights) of going from state i to state j; the diagonal is not read;
 *   is used up by the call
 * @param leave probability of leaving from each state, above 0 for at least one reachable state; is used up by the call
 */
export function absorbingChain(moves: Float64Array, leave: Float64Array): AbsorbingChain {
  const n = leave.length
  if (moves.length !== n * n) throw new Error(`absorbingChain: expected ${n * n} moves for ${n} states, got ${moves.length}`)
  const total = new Float64Array(n)
  const columns = new Int32Array(n)
  for (let i = n - 1; i >= 0; i--) {
    const row = i * n
    let sum = leave[i]!
    let columnCount = 0
    for (let k = 0; k < i; k++) {
      const move = moves[row + k]!
      if (move !== 0) {
        sum += move
        columns[columnCount++] = k
      }
    }
    total[i] = sum
    if (!(sum > 0 && sum < Infinity)) throw new Error(`absorbingChain: state ${i} can neither be left nor go on`)
    for (let j = 0; j < i; j++) {
      const into = moves[j * n + i]!
      if (into === 0) continue
      const factor = into / sum
      moves[j * n + i] = factor
      leave[j] = leave[j]! + factor * leave[i]!
      const target = j * n
      for (let c = 0; c < columnCount; c++) {
        const k = columns[c]!
        moves[target + k] = moves[target + k]! + factor * moves[row + k]!
      }
    }
  }
  return {
    stateCount: n,
    expectedTotal: (reward) => solve(n, moves, total, reward),
    expectedVisits: (start) => expectedVisits(n, moves, total, start),
    quasiStationary: () => quasiStationary(n, moves, total),
  }
}

function solve(n: number, moves: Float64Array, total: Float64Array, reward: Float64Array): Float64Array {
  const value = Float64Array.from(reward)
  for (let i = n - 1; i >= 0; i--) {
    for (let j = 0; j < i; j++) {
      const factor = moves[j * n + i]!
      if (factor !== 0) value[j] = value[j]! + factor * value[i]!
    }
  }
  for (let i = 0; i < n; i++) {
    let sum = value[i]!
    for (let k = 0; k < i; k++) sum += moves[i * n + k]! * value[k]!
    value[i] = sum / total[i]!
  }
  return value
}

/** The solve above, transposed. */
function expectedVisits(n: number, moves: Float64Array, total: Float64Array, start: Float64Array): Float64Array {
  const visits = Float64Array.from(start)
  for (let i = n - 1; i >= 0; i--) {
    visits[i] = visits[i]! / total[i]!
    for (let k = 0; k < i; k++) visits[k] = visits[k]! + visits[i]! * moves[i * n + k]!
  }
  for (let i = 0; i < n; i++) {
    let sum = visits[i]!
    for (let j = 0; j < i; j++) sum += moves[j * n + i]! * visits[j]!
    visits[i] = sum
  }
  return visits
}

/** Left eigenvector of the largest eigenvalue, by inverse iteration: the longer the run length, the fewer the rounds. */
function quasiStationary(n: number, moves: Float64Array, total: Float64Array): Float64Array {
  let share = new Float64Array(n)
  share[0] = 1
  for (let round = 0; round < 2000; round++) {
    const next = expectedVisits(n, moves, total, share)
    let sum = 0
    for (const value of next) sum += value
    let change = 0
    for (let i = 0; i < n; i++) {
      next[i] = next[i]! / sum
      change += Math.abs(next[i]! - share[i]!)
    }
    share = next as Float64Array<ArrayBuffer>
    if (change < 1e-13) break
  }
  return share
}

/** Mean and standard deviation of the run length from every state. */
export function runLengthMoments(chain: AbsorbingChain): { readonly mean: Float64Array; readonly sd: Float64Array } {
  const mean = chain.expectedTotal(new Float64Array(chain.stateCount).fill(1))
  const sum = chain.expectedTotal(mean)
  const sd = new Float64Array(chain.stateCount)
  for (let i = 0; i < sd.length; i++) sd[i] = Math.sqrt(Math.max(0, 2 * sum[i]! - mean[i]! - mean[i]! * mean[i]!))
  return { mean, sd }
}
