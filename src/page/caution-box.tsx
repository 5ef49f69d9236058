import { CautionSign, signOf } from './caution-sign.js'

export interface CautionView {
  /** Id of the catalogue. */
  readonly caution: string
  readonly text: string
}

/** Every caution in full, each with its sign. */
export function CautionList({ cautions }: { readonly cautions: readonly CautionView[] }) {
  return (
    <ul class="caution-list">
      {cautions.map(({ caution, text }) => (
        <li key={text}>
          <CautionSign caution={caution} /> <span>{text}</span>
        </li>
      ))}
    </ul>
  )
}

interface BoxProps {
  readonly cautions: readonly CautionView[]
  readonly title: string
  readonly isOpen: boolean
  readonly onOpen: (isOpen: boolean) => void
}

/** The signs at a glance, their words on a tap: before the check, without pushing it out of sight. */
export function CautionBox({ cautions, title, isOpen, onOpen }: BoxProps) {
  const first = cautions.filter(({ caution }, index) => cautions.findIndex((other) => signOf(other.caution) === signOf(caution)) === index)
  return (
    <details class="cautions caution-box" open={isOpen} onToggle={(event) => onOpen(event.currentTarget.open)}>
      <summary>
        <b>{title}</b>
        {!isOpen && (
          <span class="caution-signs">
            {first.map(({ caution }) => (
              <CautionSign key={caution} caution={caution} />
            ))}
          </span>
        )}
      </summary>
      <CautionList cautions={cautions} />
    </details>
  )
}
