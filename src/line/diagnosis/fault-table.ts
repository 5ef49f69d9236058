import { z } from 'zod'
import { BENIGN_IDS, FAULT_IDS, type BenignId, type FaultId } from '../causes.js'
import type { LineDefinition } from '../line-definition.js'
import { FAULT_ROWS } from './fault-table-data.js'

/**
 * Columns of the matrix: Tz zone reading, v speed, L level, Tp pot temperature, Uz zone duty, Up pot duty, Ib blower
 * current or speed, SP set-points, Im drive current, Qf flux flow, Pf flux pressure, Cf flux per board, np pump speed,
 * hw wave height, Tb topside board temperature, N board count, D defects.
 */
export const MATRIX_COLUMNS = ['Tz', 'v', 'L', 'Tp', 'Uz', 'Up', 'Ib', 'SP', 'Im', 'Qf', 'Pf', 'Cf', 'np', 'hw', 'Tb', 'N', 'D'] as const
export type MatrixColumn = (typeof MATRIX_COLUMNS)[number]

/**
 * M mean, V variance, T slow trend, R slower response, P periodic part, J jumps, S spread between zones or sides, HF and
 * LF fast (< 20 s) and slow (1-20 min) part, X correlation with another channel; `overshoot` and `decay` in words.
 */
export const EFFECT_CODES = ['M', 'V', 'T', 'R', 'P', 'J', 'S', 'HF', 'LF', 'X', 'overshoot', 'decay'] as const
export type EffectCode = (typeof EFFECT_CODES)[number]

/** Machine facts a cell can depend on; absent: holds for every machine. */
export interface CellCondition {
  readonly feed?: 'pressure' | 'metered-pump'
  readonly thermocouple?: readonly ('board-air' | 'heater-outlet' | 'on-element')[]
  readonly blower?: 'fixed-speed' | 'constant-flow'
  readonly zone?: number
}

export interface CellEffect {
  readonly code: EffectCode
  /** `either`: the sign depends on something the definition does not hold. */
  readonly direction: 'up' | 'down' | 'either'
  /** 0.5 a cell such as "0/+1", 1 weak (days of data or a clean baseline), 2 clear, 3 obvious. [CP] */
  readonly strength: number
  /** Part of the channel the effect is in, e.g. `loop`, `warm-up`, `current`, a kind of defect. */
  readonly part?: string
  readonly when?: CellCondition
}

export interface MatrixCell {
  /** The cell as it stands in the matrix. */
  readonly text: string
  readonly effects: readonly CellEffect[]
}

export interface MatrixRow {
  readonly id: string
  readonly cause: FaultId | BenignId
  readonly name: string
  readonly section: string
  readonly timeScale: string
  /** Columns whose cell was also run in a model of the process [SIM]; all others rest on common practice [CP]. */
  readonly simulated: readonly MatrixColumn[]
  /** Cells with an effect; an absent cell is "0". */
  readonly cells: Readonly<Partial<Record<MatrixColumn, MatrixCell>>>
}

const conditionSchema = z.strictObject({
  feed: z.enum(['pressure', 'metered-pump']).optional(),
  thermocouple: z.array(z.enum(['board-air', 'heater-outlet', 'on-element'])).min(1).optional(),
  blower: z.enum(['fixed-speed', 'constant-flow']).optional(),
  zone: z.int().min(1).optional(),
})

const effectSchema = z.strictObject({
  code: z.enum(EFFECT_CODES),
  direction: z.enum(['up', 'down', 'either']),
  strength: z.union([z.literal(0.5), z.literal(1), z.literal(2), z.literal(3)]),
  part: z.string().regex(/^[a-z][a-z-]*$/).optional(),
  when: conditionSchema.optional(),
})

/** Form of one row; the table is checked against it when it is loaded. */
export const matrixRowSchema = z.strictObject({
  id: z.string().regex(/^(F\d\d[abc]?|B\d\d)$/),
  cause: z.enum([...FAULT_IDS, ...BENIGN_IDS]),
  name: z.string().min(1),
  section: z.enum(['fluxer', 'preheat', 'transport', 'pot', 'preheat or pot', 'benign']),
  timeScale: z.string().min(1),
  simulated: z.array(z.enum(MATRIX_COLUMNS)),
  cells: z.partialRecord(z.enum(MATRIX_COLUMNS), z.strictObject({ text: z.string().min(1), effects: z.array(effectSchema) })),
})

const checkedRows = z.array(matrixRowSchema).safeParse(FAULT_ROWS)
if (!checkedRows.success) throw new Error(`fault table: ${z.prettifyError(checkedRows.error)}`)

/** The fault and symptom matrix, checked. Strengths are common practice, no source, unless `simulated` names the column. */
export const FAULT_TABLE: readonly MatrixRow[] = FAULT_ROWS

const ROW_BY_CAUSE = new Map(FAULT_TABLE.map((row) => [row.cause, row]))

/**
 * The row of a cause.
 * @throws Error if the cause has no row
 */
export function matrixRow(cause: FaultId | BenignId): MatrixRow {
  const row = ROW_BY_CAUSE.get(cause)
  if (row === undefined) throw new Error(`fault table has no row for cause "${cause}"`)
  return row
}

/** Evidence behind a cell: `SIM` if it was also run in a model, else `CP`, common practice, no source. */
export function cellEvidence(row: MatrixRow, column: MatrixColumn): 'SIM' | 'CP' {
  return row.simulated.includes(column) ? 'SIM' : 'CP'
}

/**
 * Whether a condition holds on a machine: `yes`, `no`, or `unknown` where the definition does not say.
 *
 * @param zone preheat zone from 1 the cell is asked for, where it is about one
 */
export function conditionHolds(when: CellCondition | undefined, definition: LineDefinition, zone: number | undefined): 'yes' | 'no' | 'unknown' {
  if (when === undefined) return 'yes'
  const facts = zone === undefined ? undefined : definition.machine.zones[zone - 1]
  const answers: ('yes' | 'no' | 'unknown')[] = []
  if (when.feed !== undefined) answers.push(compare(definition.machine.fluxer.feed, [when.feed]))
  if (when.thermocouple !== undefined) answers.push(compare(facts?.thermocouple ?? 'unknown', when.thermocouple))
  if (when.blower !== undefined) answers.push(compare(facts?.blower ?? 'unknown', [when.blower]))
  if (when.zone !== undefined) answers.push(zone === undefined ? 'unknown' : zone === when.zone ? 'yes' : 'no')
  if (answers.includes('no')) return 'no'
  return answers.includes('unknown') ? 'unknown' : 'yes'
}

function compare(fact: string, wanted: readonly string[]): 'yes' | 'no' | 'unknown' {
  if (fact === 'unknown') return 'unknown'
  return wanted.includes(fact) ? 'yes' : 'no'
}
