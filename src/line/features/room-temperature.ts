import type { TrackState } from './channel-track.js'

/** Room temperature where none is measured (28 ± 3 °C [ASM, B2]). */
export const ROOM_C = 28
/** Between these a hall in which people solder may be, °C; a sensor that died shows 0 or less, or the end of its range. [ASM] */
const HALL_C = { above: 0, below: 60 } as const

/** Temperature of the room, °C; undefined where none is measured, or none that a room can have. */
export function roomTemperature(ambient: TrackState | undefined): number | undefined {
  if (ambient === undefined || ambient.lastMs === 0) return undefined
  return ambient.last > HALL_C.above && ambient.last < HALL_C.below ? ambient.last : undefined
}
