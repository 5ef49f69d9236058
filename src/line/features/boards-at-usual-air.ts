import { median } from './minute-block.js'
import { ROOM_C } from './room-temperature.js'
import { LEVEL_VALUES } from './usual-level.js'

/** What the air makes of the temperature with which boards leave the preheat. Plain JSON. */
export interface BoardAir {
  /** By recipe and set-points: shares of the zones' common effort while the level of the boards was learned, then their median. */
  readonly usual: Record<string, { shares: number[]; share?: number }>
  /** The last values, the oldest first. */
  recent: { readonly key: string; readonly valueC: number; readonly share: number }[]
  /** Sums over changes of the common effort beside those of the boards. */
  squares: number
  products: number
  /** How far the common effort was last off its usual share. */
  off: number
}

export interface AirNow {
  readonly ambientC: number | undefined
  /** By which share the zones of the line together need more than usual; undefined while that is not known. */
  readonly share: number | undefined
}

/** Boards come in as warm as the room: 8 °C more of it leave 1.9 °C at the end of the preheat [SIM, B2]. */
const ROOM_SHARE = 0.24
/** Share by which the zones must have moved together within some values to teach what the boards make of it. [ASM] */
const MOVE_MIN = 0.03
/** Values between the two that are compared: some two hours of production, in which nothing fouls much. [ASM] */
const MOVE_VALUES = 4
const RECENT_VALUES = 14
/** Weight of "the air does nothing to the boards" that stands in the beginning, in squares of shares: two changes of 5 %. [ASM] */
const NOTHING_WEIGHT = 0.004
const KEYS_MAX = 200

export function createBoardAir(): BoardAir {
  return { usual: {}, recent: [], squares: 0, products: 0, off: 0 }
}

/**
 * Temperature of boards as it would be at the usual room temperature and the usual draw of air. The exhaust cools or warms the
 * boards of all zones together, by how much and which way depends on the line; it moves the heating of all zones at once, and what
 * the boards do within the hours around such a change tells how they follow. What fouls moves one zone, or is slower.
 *
 * @param key recipe and set-points
 */
export function boardsAtUsualAir(known: BoardAir, key: string, temperatureC: number, { ambientC, share }: AirNow): number {
  const valueC = temperatureC - ROOM_SHARE * ((ambientC ?? ROOM_C) - ROOM_C)
  if (share !== undefined) {
    learnMove(known, { key, valueC, share })
    known.off = offUsual(known, key, share)
  }
  return valueC - (known.products / (NOTHING_WEIGHT + known.squares)) * known.off
}

function offUsual({ usual }: BoardAir, key: string, share: number): number {
  const entry = Object.hasOwn(usual, key) ? usual[key]! : (usual[key] = { shares: [] })
  if (entry.share === undefined) {
    entry.shares.push(share)
    if (entry.shares.length >= LEVEL_VALUES) {
      entry.share = median(entry.shares)
      entry.shares = []
    }
  }
  const keys = Object.keys(usual)
  for (const old of keys.slice(0, Math.max(0, keys.length - KEYS_MAX))) delete usual[old]
  return entry.share === undefined ? 0 : share - entry.share
}

function learnMove(known: BoardAir, value: BoardAir['recent'][number]): void {
  const before = known.recent.slice(0, Math.max(0, known.recent.length - MOVE_VALUES + 1)).findLast(({ key }) => key === value.key)
  known.recent.push(value)
  if (known.recent.length > RECENT_VALUES) known.recent.shift()
  const move = before === undefined ? 0 : value.share - before.share
  if (before === undefined || Math.abs(move) < MOVE_MIN) return
  known.squares += move * move
  known.products += move * (value.valueC - before.valueC)
}
