import { z } from 'zod'

const share = z.number().gt(0).lt(1)

export const GROWS_WITH_STRENGTH = 'expected chances that grow with the strength'

interface Shows {
  readonly '0.5': number
  readonly '1': number
  readonly '2': number
  readonly '3': number
}

export function growsWithStrength(shows: Shows): boolean {
  return shows['0.5'] < shows['1'] && shows['1'] < shows['2'] && shows['2'] < shows['3']
}

/** Parts of a table of likelihoods; a line definition may give any of them, and the rest stays as it is. */
export const LIKELIHOOD_PARTS = {
  shows: z.strictObject({ '0.5': share, '1': share, '2': share, '3': share }).describe('Chance that a doubtful (0.5), weak (1), clear (2) or obvious (3) symptom of the fault table shows in its direction'),
  stray: z.number().gt(0).lt(0.3).describe('Chance, each way, that a feature moves though the cause does not touch it'),
  unknown: z.number().gt(0).lt(0.45).describe('Chance, each way, of a movement under a cause that is not in the table'),
  quietWeight: z.number().min(0).max(1).describe('Weight of a quiet feature against one that moved'),
  temperature: z.number().min(1).max(10).describe('Divides the evidence before it meets the priors'),
  own: z
    .record(z.string().regex(/^[a-z-]+ [a-z<>.-]+$/, 'expected a cause and a feature pattern, e.g. "dry-chain conveyor.current.warm"'), z.strictObject({ up: share, down: share }).refine((pair) => pair.up + pair.down < 1, 'expected up + down below 1'))
    .describe('Own chances that a feature goes up and down under a cause, e.g. "dry-chain conveyor.current.warm" or "coated-thermocouple preheat.zone-<n>.step-response"'),
}

/** What a line definition may say of the likelihoods. */
export const siteLikelihoodsSchema = z
  .strictObject(LIKELIHOOD_PARTS)
  .partial()
  .refine(({ shows }) => shows === undefined || growsWithStrength(shows), GROWS_WITH_STRENGTH)
  .describe("The site's own likelihoods; what is not given stays as in the fault table, and closed suggestions go on from there")
