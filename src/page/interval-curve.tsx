import type { ComponentChildren } from 'preact'

export interface CurveLine {
  readonly points: readonly { readonly x: number; readonly y: number }[]
  readonly steps?: boolean
  readonly dashed?: boolean
  readonly label: string
}

interface CurveProps {
  readonly title: string
  readonly unit: string
  readonly lines: readonly CurveLine[]
  readonly yMin: number
  readonly yMax: number
  readonly xMax: number
  /** The interval in force. */
  readonly mark: { readonly x: number; readonly label: string }
  readonly number: (value: number) => string
}

const WIDTH = 460
const HEIGHT = 200
const LEFT = 44
const BOTTOM = 34
const TOP = 26
const RIGHT = 24

/** The next step of 1, 2 or 5 times a power of ten. */
function roundStep(rough: number): number {
  const power = 10 ** Math.floor(Math.log10(rough))
  return power * ([1, 2, 5, 10].find((step) => step * power >= rough) ?? 10)
}

/** A small curve in ink: thin lines, labelled where they end, the interval in force as an upright tick. */
export function IntervalCurve({ title, unit, lines, yMin, yMax, xMax, mark, number }: CurveProps): ComponentChildren {
  const x = (value: number): number => LEFT + ((WIDTH - LEFT - RIGHT) * Math.min(value, xMax)) / xMax
  const y = (value: number): number => HEIGHT - BOTTOM - ((HEIGHT - BOTTOM - TOP) * (Math.min(yMax, Math.max(yMin, value)) - yMin)) / (yMax - yMin)
  const path = ({ points, steps }: CurveLine): string =>
    points.map((point, i) => (i === 0 ? `M${x(point.x)} ${y(point.y)}` : steps === true ? `H${x(point.x)}V${y(point.y)}` : `L${x(point.x)} ${y(point.y)}`)).join('')
  const step = roundStep(xMax / 4)
  const ticks = Array.from({ length: Math.floor(xMax / step) + 1 }, (_, i) => i * step)
  return (
    <figure class="interval-curve">
      <svg viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={`${title}: ${lines.map(({ label }) => label).join(', ')}`}>
        <line x1={LEFT} x2={WIDTH - RIGHT} y1={y(yMin)} y2={y(yMin)} class="curve-axis" />
        {ticks.map((tick) => (
          <text key={tick} x={x(tick)} y={HEIGHT - BOTTOM + 16} text-anchor="middle" class="curve-words">
            {number(tick)}
          </text>
        ))}
        {[yMin, (yMin + yMax) / 2, yMax].map((tick) => (
          <text key={tick} x={LEFT - 6} y={y(tick) + 4} text-anchor="end" class="curve-words">
            {number(tick)}
          </text>
        ))}
        <line x1={x(mark.x)} x2={x(mark.x)} y1={TOP - 8} y2={y(yMin)} class="curve-mark" />
        <text x={Math.min(x(mark.x) + 5, WIDTH - 60)} y={TOP - 10} class="curve-words">
          {mark.label}
        </text>
        {lines.map((line) => (
          <path key={line.label} d={path(line)} class={line.dashed === true ? 'curve-line curve-dashed' : 'curve-line'} />
        ))}
        <text x={WIDTH - RIGHT} y={HEIGHT - 4} text-anchor="end" class="curve-words">
          {unit}
        </text>
      </svg>
      <figcaption>
        {title}
        {lines.length > 1 && `: ${lines.map(({ label, dashed }) => `${dashed === true ? '- - ' : '— '}${label}`).join(', ')}`}
      </figcaption>
    </figure>
  )
}
