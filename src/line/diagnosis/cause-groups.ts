import { NONE_OF_THESE, type CauseId, type RankedCause } from '../causes.js'
import type { Section } from '../feature-value.js'

/** Causes that look alike and may be named together. Which of them are is decided by the channels and the evidence. */
export const GROUP_FAMILIES: Readonly<Record<string, readonly CauseId[]>> = {
  'transport-drag': ['dirty-rails', 'dirty-chain', 'dry-chain', 'sticky-grease', 'worn-sprocket', 'worn-bearing', 'worn-drive'],
  'zone-weak': ['clogged-blower', 'coated-emitter', 'blocked-vents', 'ageing-element'],
  'flux-delivery': ['clogged-nozzle', 'leaking-seal', 'bad-flux-hose', 'dosing-off', 'stroke-too-wide'],
  'pot-metal': ['low-level', 'dross-at-intake', 'drifting-pot-probe'],
  // of two sections, which only defects by side of the board would tell apart; the likelier of the two gives the section
  'one-sided-boards': ['misoriented-nozzle', 'residue-on-fingers'],
}

/** One candidate with all that grouping needs. */
export interface Candidate {
  readonly cause: CauseId
  readonly section: Section
  readonly zone?: number
  readonly kind: RankedCause['kind']
  readonly probability: number
  /** Log-likelihood of the evidence seen, by mechanism. */
  readonly votes: Readonly<Record<string, number>>
  /** Per mechanism the strength expected upward and downward, over the features that can be seen. */
  readonly signature: Readonly<Record<string, Expected>>
}

type Way = 'up' | 'down'
type Expected = Readonly<Record<Way, number>>
/** Mechanisms that moved, each with its ways. */
export type Moved = ReadonlyMap<string, readonly Way[]>

const WAYS = ['up', 'down'] as const
const NOTHING: Expected = { up: 0, down: 0 }

/** A difference is clear when one cause moves a mechanism at strength 2 or more and the other leaves it alone. [ASM] */
const CLEAR = 2
/** Quiet mechanisms that favour one of two causes at least twofold separate them where they differ clearly. [ASM] */
const TWOFOLD = Math.LN2
/** Evidence that favours one of two causes more than sevenfold separates them though they differ in strength only. [ASM] */
const STRONG = 2

/**
 * Merges causes that the channels of the line cannot tell apart, or that the evidence so far does not.
 *
 * @param candidates causes of one case; probabilities sum to 1
 * @param moved mechanisms in which something moved, each with the ways it moved
 * @returns causes and groups, the most probable first; groups list their members, the most probable first
 */
export function groupCauses(candidates: readonly Candidate[], moved: Moved): RankedCause[] {
  const open = [...candidates].sort(byProbability)
  const ranked: RankedCause[] = []
  const named = new Set<string>()
  while (open.length > 0) {
    const leader = open.shift()!
    const family = familyOf(leader.cause)
    const members = [leader]
    // A group's name stands once in a diagnosis; causes of the family that were told apart from it stand alone.
    if (family !== undefined && !named.has(family)) {
      for (let index = 0; index < open.length; ) {
        const other = open[index]!
        if (GROUP_FAMILIES[family]!.includes(other.cause) && !toldApart(leader, other, moved)) members.push(...open.splice(index, 1))
        else index += 1
      }
    }
    if (members.length > 1) named.add(family!)
    ranked.push(merged(members, family))
  }
  return ranked.sort((a, b) => b.probability - a.probability || (a.cause < b.cause ? -1 : 1))
}

function byProbability(a: Candidate, b: Candidate): number {
  return b.probability - a.probability || (a.cause < b.cause ? -1 : 1)
}

function familyOf(cause: CauseId): string | undefined {
  if (cause === NONE_OF_THESE) return undefined
  return Object.keys(GROUP_FAMILIES).find((name) => GROUP_FAMILIES[name]!.includes(cause))
}

/** Whether two causes differ clearly in the way a mechanism moved, or the channels can tell them apart and the evidence does. */
function toldApart(a: Candidate, b: Candidate, moved: Moved): boolean {
  const differing: string[] = []
  for (const mechanism of new Set([...Object.keys(a.signature), ...Object.keys(b.signature)])) {
    const ofA = a.signature[mechanism] ?? NOTHING
    const ofB = b.signature[mechanism] ?? NOTHING
    const ways = moved.get(mechanism)
    if (ways?.some((way) => differClearly(ofA, ofB, way) || contradicts(ofA, way) !== contradicts(ofB, way)) === true) return true
    // one that moved has spoken: what it would say of one that can go either way, had it gone the other, tells nothing
    if (ways === undefined && WAYS.some((way) => differClearly(ofA, ofB, way))) differing.push(mechanism)
  }
  return favour(a, b, differing) >= TWOFOLD || favour(a, b, Object.keys(a.votes)) >= STRONG
}

function favour(a: Candidate, b: Candidate, mechanisms: readonly string[]): number {
  return Math.abs(mechanisms.reduce((sum, mechanism) => sum + (a.votes[mechanism] ?? 0) - (b.votes[mechanism] ?? 0), 0))
}

function differClearly(a: Expected, b: Expected, way: Way): boolean {
  return (a[way] >= CLEAR && b[way] === 0) || (b[way] >= CLEAR && a[way] === 0)
}

/** It went the other way than the cause clearly has it go. */
function contradicts(expected: Expected, way: Way): boolean {
  return expected[way] === 0 && expected[way === 'up' ? 'down' : 'up'] >= CLEAR
}

function merged(members: readonly Candidate[], family: string | undefined): RankedCause {
  const leader = members[0]!
  const probability = members.reduce((sum, member) => sum + member.probability, 0)
  const place = { section: leader.section, ...(leader.zone === undefined ? {} : { zone: leader.zone }), kind: leader.kind, probability }
  if (members.length === 1 || family === undefined) return { cause: leader.cause, ...place }
  return { cause: family, members: members.map((member) => member.cause), ...place }
}
