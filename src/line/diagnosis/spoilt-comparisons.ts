import type { FeatureEvidence } from '../diagnosis.js'
import { EXHAUST } from './votes.js'

const OWN = /^preheat\.zone-(\d+)\.temperature\.(?:fast|slow)-own$/
const ZONE = /^preheat\.zone-(\d+)\./
const OWN_EFFORT = /^preheat\.zone-\d+\.duty\.effort-own$/
const PLAIN_EFFORT = /^preheat\.zone-\d+\.duty\.effort$/
/** A zone's own move below this share of what another zone's effort moved is a rest of something they share. [ASM] */
const REST_SHARE = 0.6
/** The same where the other zone went the same way. [ASM] */
const REST_SHARE_SAME_WAY = 1.2
/** The same where all others went the same way: heavier boards take most from the first zone, and something from all. [ASM] */
const REST_SHARE_ALL_LEAN = 3
/** How much more a move counts that the plain effort bears out, or that goes up. [ASM] */
const BORNE_OUT = 1.5
const RISEN = 1.1
/** Of two zones each is the whole measure of the other; then and by chance the mirrored move is as large, or a little larger. [ASM] */
const MIRRORED_SHARE = 1.5
/** A zone that is this far off in something of its own is no measure for the others. [ASM] */
const CLEARLY_OFF_SIGMA = 3

/**
 * Takes back what comparisons between zones say of the others while one zone is clearly off: a zone that cannot hold its
 * heat, or swings, shifts the level the others are compared with. Such a comparison is `not-observable`.
 */
export function withoutSpoiltComparisons(evidence: readonly FeatureEvidence[]): readonly FeatureEvidence[] {
  const mirrors = mirrorsOfTheOther(evidence)
  const unsure = new Set([...mirrors, ...mirroredEfforts(evidence.filter(({ feature }) => !mirrors.includes(feature))), ...restsOfCommon(evidence), ...doneByExhaust(evidence)])
  const off = new Set(
    evidence
      .filter((item) => !unsure.has(item.feature) && isMoved(item) && Math.abs(item.shiftSigma) >= CLEARLY_OFF_SIGMA && !OWN.test(item.feature))
      .flatMap((item) => ZONE.exec(item.feature)?.[1] ?? []),
  )
  if (off.size === 0 && unsure.size === 0) return evidence
  return evidence.map((item) => {
    const zone = OWN.exec(item.feature)?.[1]
    if (unsure.has(item.feature) || (off.size > 0 && zone !== undefined && !off.has(zone))) return notObservable(item)
    return item
  })
}

function notObservable(item: FeatureEvidence): FeatureEvidence {
  return { ...item, status: 'not-observable', shiftSigma: 0, shift: 0, onsetMs: 0, windows: 0, trend: 'steady' }
}

/** Of two zones the one whose plain effort has gone this much further is the one that moved, and this share of its level is more than chance. [ASM] */
const FURTHER = 2.5
const FAR_SHARE = 0.08

/**
 * Of two zones, the effort of one beside the other that moved only because the other did the opposite, whose own may be without a word
 * just then: its plain effort tells.
 */
function mirrorsOfTheOther(evidence: readonly FeatureEvidence[]): readonly string[] {
  const plain = evidence.filter((item) => PLAIN_EFFORT.test(item.feature))
  if (plain.length !== 2) return []
  const shareOf = (item: FeatureEvidence): number => (item.centre > 0 ? (isMoved(item) ? item.shift : (item.lean ?? 0)) / item.centre : 0)
  return evidence.flatMap((item) => {
    if (!OWN_EFFORT.test(item.feature) || !isMoved(item)) return []
    const itself = plain.find(({ feature }) => `${feature}-own` === item.feature)
    const other = plain.find(({ feature }) => `${feature}-own` !== item.feature)
    if (itself === undefined || other === undefined) return []
    const share = shareOf(other)
    return share * item.shift < 0 && Math.abs(share) >= Math.max(FAR_SHARE, FURTHER * Math.abs(shareOf(itself))) ? [item.feature] : []
  })
}

/**
 * Efforts beside the other zones that are no more than a rest of what all did: air takes another share of each zone's heat than the
 * boards do from which the shares were learned.
 */
function restsOfCommon(evidence: readonly FeatureEvidence[]): readonly string[] {
  const plain = evidence.filter((item) => PLAIN_EFFORT.test(item.feature))
  const own = evidence.filter((item) => OWN_EFFORT.test(item.feature) && isMoved(item))
  // No zone can need more than the others beside all of the others.
  if (own.length >= 2 && own.length === plain.length && own.every(({ status }) => status === own[0]!.status)) return own.map(({ feature }) => feature)
  return own.flatMap((item) => {
    const others = plain.filter((other) => `${other.feature}-own` !== item.feature).map((other) => (isMoved(other) ? other.shift : (other.lean ?? 0)))
    const size = Math.abs(item.shift)
    const sameWay = others.map((shift) => shift * Math.sign(item.shift))
    const isRest = sameWay.some((shift) => size < (shift > 0 ? REST_SHARE_SAME_WAY : REST_SHARE) * Math.abs(shift))
    const allLean = sameWay.length > 0 && size < REST_SHARE_ALL_LEAN * Math.min(...sameWay)
    return isRest || allLean ? [item.feature] : []
  })
}

/**
 * Of a change in the air drawn through the tunnel, the most that can be left in the effort of one zone beside the others: some 0.7 of it
 * is in the effort of each [SIM: 30 % more air, 21 % more duty], and zones draw unequally. [ASM]
 */
const EXHAUST_REST = 0.6

/** Efforts beside the other zones no larger than what the exhaust, seen to draw more or less than it did, leaves in a zone. The air goes with the root of the suction. */
function doneByExhaust(evidence: readonly FeatureEvidence[]): readonly string[] {
  const exhaust = evidence.find((item) => item.feature === EXHAUST && isMoved(item))
  if (exhaust === undefined || exhaust.centre === 0) return []
  const air = Math.sqrt(Math.max(0, (exhaust.centre + exhaust.shift) / exhaust.centre)) - 1
  return evidence.filter((item) => OWN_EFFORT.test(item.feature) && isMoved(item) && item.shift * air > 0 && Math.abs(item.shift) <= EXHAUST_REST * Math.abs(air * item.centre)).map(({ feature }) => feature)
}

function isMoved({ status }: FeatureEvidence): boolean {
  return status === 'up' || status === 'down'
}

/**
 * Efforts beside the other zones that moved only because one of the others did: the zone that moved most moves the others the other
 * way. Of two zones that moved as far, the one that its plain effort bears out is believed, else the one whose effort rose,
 * as most fouling has it.
 */
function mirroredEfforts(evidence: readonly FeatureEvidence[]): readonly string[] {
  const moved = evidence.filter((item) => OWN_EFFORT.test(item.feature) && isMoved(item))
  if (moved.length < 2) return []
  const bornOut = (item: FeatureEvidence): boolean => evidence.some((plain) => `${plain.feature}-own` === item.feature && plain.status === item.status)
  // By share: zones have heaters of several sizes.
  const sizeOf = ({ shift, centre }: FeatureEvidence): number => Math.abs(centre > 0 ? shift / centre : shift)
  const weight = (item: FeatureEvidence): number => sizeOf(item) * (bornOut(item) ? BORNE_OUT : 1) * (item.status === 'up' ? RISEN : 1)
  const most = moved.reduce((first, item) => (weight(item) > weight(first) ? item : first))
  return moved.filter((item) => item.status !== most.status && sizeOf(item) <= MIRRORED_SHARE * sizeOf(most)).map(({ feature }) => feature)
}
