import type { SimulatorDriveOptions } from '../simulator-drive.js'
import { numberIn, textOf } from './config-text.js'

/** What the editor saves of a `line-simulator` node; undefined where seed or speed is unusable. */
export function parseSimulatorConfig(def: { readonly plant?: unknown; readonly seed?: unknown; readonly speed?: unknown; readonly autostart?: unknown }): (Pick<SimulatorDriveOptions, 'plant' | 'seed' | 'speed'> & { readonly autostart: boolean }) | undefined {
  const seedText = textOf(def.seed)
  const seed = seedText === '' ? undefined : numberIn(seedText, { min: 0, max: Number.MAX_SAFE_INTEGER })
  const speed = numberIn(def.speed, { min: 1, max: 100_000 })
  if (speed === undefined || (seedText !== '' && (seed === undefined || !Number.isInteger(seed)))) return undefined
  return { plant: textOf(def.plant) === 'healthy' ? 'healthy' : 'faulty', seed, speed, autostart: textOf(def.autostart) !== 'false' }
}
