import type { LineStateName, Section } from '../feature-value.js'
import type { LevelRule } from './usual-level.js'

/** What is known of a feature before any reading: where it comes from and how it is charted. */
export interface FeatureSpec {
  readonly feature: string
  readonly section: Section
  /** Preheat zone from 1, where the feature belongs to one. */
  readonly zone?: number
  /** Channels without which there is no value. */
  readonly channels: readonly string[]
  readonly unit: string
  /** Length of the window, s; start-ups and steps give the usual length of the event. */
  readonly windowS: number
  readonly chart: 'individuals' | 'count'
  /** States in which windows count. */
  readonly states: readonly LineStateName[]
  /** Direction that can mean fouling or wear. */
  readonly suspicious: 'up' | 'down' | 'both'
  /** Features of one mechanism show the same physics and have one vote in a diagnosis. */
  readonly mechanism: string
  /** The level depends on the recipe: every recipe has its own baseline. */
  readonly perRecipe: boolean
  /** The level depends on the recipe by this: the value is brought to the recipe heard first, and one baseline serves all. */
  readonly atUsualRecipe?: LevelRule['by']
  /** Smallest sigma a baseline may have, in the feature's unit: what the instrument, not the process, can show. */
  readonly sigmaFloor: number
  /**
   * Smallest lasting change of consequence, as a share of the level learned: mains, hall, days and ordinary wear bring less than that
   * now and then, and a fault that shows goes on to several times as much. Absent: a few sigma floors.
   */
  readonly relevantShare?: number
  /** The same in the feature's unit. */
  readonly relevant?: number
  /**
   * Adopted limits instead of learned ones, for what has too few values or wanders by right: sigma (in the feature's unit,
   * and at least `sigmaShare` of the level) and the centre, or the number of first values that make it.
   */
  readonly standard?: { readonly sigma: number; readonly sigmaShare?: number; readonly centre?: number; readonly centreOfRecipe?: Readonly<Record<string, number>>; readonly centreValues: number }
  /** What fouling does to it goes one way only, and others switch it to and fro: its course is kept while a signal is on. */
  readonly oneWay?: boolean
  /** Boards, doors and air move it for hours as dirt does for good: what came and went before is not told when it comes again. */
  readonly passes?: boolean
  /** A value that stands out far enough is believed alone: it comes once a start-up, and chance does not make one. */
  readonly toldByOne?: boolean
  /** en-US, plain words. */
  readonly title: string
  /** Share of the budget against that of another feature of the section; absent: 1. */
  readonly weight?: number
  /** Values in a week of 5 days of 16 h, for the budget of false signals. */
  readonly pointsPerWeek: number
}

/** A feature that this line cannot have, and why, in plain words. */
export interface FeatureRefusal {
  readonly feature: string
  readonly reason: string
}

/** Where no change of consequence is given, one below so many sigma floors is real but of none: the floor is what the instrument can show. [ASM] */
export const RELEVANT_FLOORS = 3

/**
 * One start-up alone is believed where it stands out so far: it comes once a day, and a heater does not lose a quarter of its power by
 * chance, nor does a chain jump five times where it never did. [ASM; of 5,773 and 1,606 start-ups without such a fault on tuning seeds
 * the farthest stood 2.0 and 3.3 sigmas off: SIM]
 */
export const START_UP_ALONE_SIGMA = 4.5

/** A quarter more unrest comes and goes with speed, product and the drive; dirt and wear make it one and a half times to ten times as large. [ASM] */
export const UNREST_RELEVANT = 0.25

/** Slot: the base window, aligned to UTC; longer windows are whole numbers of clean slots on end. */
export const SLOT_S = 600
export const SLOT_MS = SLOT_S * 1000

/** Minutes from the begin of the slot that holds a time. The remainder of a division of times of this size costs four times as much. */
export function minutesIntoSlot(timeMs: number): number {
  return (timeMs - Math.floor(timeMs / SLOT_MS) * SLOT_MS) / 60_000
}
/** Slots of an hour's window. */
export const HOUR_SLOTS = 6
/** Hours of a week the line is taken to run (two shifts, five days: reference line of the process knowledge [ASM]). */
const HOURS_PER_WEEK = 80

export const PRODUCTION: readonly LineStateName[] = ['production']

export type SpecDetails = Pick<FeatureSpec, 'section' | 'channels' | 'unit' | 'suspicious' | 'mechanism' | 'sigmaFloor' | 'title'> &
  Partial<Pick<FeatureSpec, 'zone' | 'windowS' | 'chart' | 'states' | 'perRecipe' | 'pointsPerWeek' | 'standard' | 'toldByOne' | 'oneWay' | 'passes' | 'relevantShare' | 'relevant' | 'weight' | 'atUsualRecipe'>>

/** A spec with the usual details filled in: a 10 min window while producing, one baseline for all recipes. */
export function featureSpec(feature: string, details: SpecDetails): FeatureSpec {
  const windowS = details.windowS ?? SLOT_S
  return {
    feature,
    windowS,
    chart: 'individuals',
    states: PRODUCTION,
    perRecipe: false,
    pointsPerWeek: Math.round((HOURS_PER_WEEK * 3600) / windowS),
    ...details,
  }
}
