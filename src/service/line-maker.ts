import { setTimeout as pause } from 'node:timers/promises'
import type { LineDefinition } from '../line/line-definition.js'

/** Makes lines in the flows of this process; only the `start` command can, an ordinary Node-RED has its editor. */
export interface LineMaker {
  /** Lines it made: their definitions may be changed by it. */
  owns(line: string): boolean
  /** Adds a line with its nodes. @throws Error if the line exists, or the flows do not take it */
  addLine(definition: LineDefinition, broker: string): Promise<void>
  /** Keeps a changed definition for the next start. */
  keepDefinition(definition: LineDefinition): void
  /** Adds the simulated lines of the demonstration. @throws Error if they are there */
  addDemo(): Promise<void>
  readonly hasDemo: boolean
  /** Broker a new line is offered. */
  readonly broker: string
}

let maker: LineMaker | undefined

export function setLineMaker(made: LineMaker | undefined): void {
  maker = made
}

/** The maker of this process; undefined where lines are made in the editor. */
export function lineMaker(): LineMaker | undefined {
  return maker
}

const START_PATIENCE_MS = 20_000
const LOOK_EVERY_MS = 50

/**
 * Waits for what has been added to be there: the nodes of a new flow start by themselves once it has been taken, on a busy machine
 * seconds later, and whoever asks in between is told that there is no such line.
 *
 * @returns whether it came in time
 */
export async function untilThere(isThere: () => boolean, patienceMs = START_PATIENCE_MS, everyMs = LOOK_EVERY_MS): Promise<boolean> {
  for (let waitedMs = 0; waitedMs < patienceMs; waitedMs += everyMs) {
    if (isThere()) return true
    await pause(everyMs)
  }
  return isThere()
}
