import type { LineSummary } from './api-types.js'
import { intervalApi, type ProofView } from './interval-client.js'
import { hashOf, useAnswer } from './page-state.js'
import type { Language } from './texts.js'

/** Newest proofs of all lines, by the suggestion that the work answered. */
export function useProofs(lines: readonly LineSummary[] | undefined, language: Language, news: number): ReadonlyMap<string, ProofView> {
  const ids = (lines ?? []).map(({ line }) => line)
  const { answer } = useAnswer(async () => (await Promise.all(ids.map((line) => intervalApi.proofs(line, language)))).flatMap(({ proofs }) => proofs), [ids.join(' '), language, news])
  const known = new Map<string, ProofView>()
  // The last done comes first; where several jobs answered one suggestion, the one that says most is shown.
  for (const proof of answer ?? []) if (proof.suggestion !== undefined && (!known.has(proof.suggestion) || known.get(proof.suggestion)!.verdict === 'no-channel')) known.set(proof.suggestion, proof)
  return known
}

/** What came of the work, in a few words that lead to the whole. */
export function ProofMark({ proof, line }: { readonly proof: ProofView; readonly line: string }) {
  return (
    <a class={proof.verdict === 'helped' ? 'done' : undefined} href={hashOf({ view: 'intervals', line })} data-proof={proof.verdict}>
      {proof.verdict === 'helped' && '✓ '}
      {proof.verdictText}
    </a>
  )
}
