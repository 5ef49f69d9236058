import { timeText } from './format.js'
import type { PlanView } from './plan-client.js'
import { planText } from './plan-texts.js'
import type { Language } from './texts.js'

const DAY_MS = 86_400_000

/** The week as one bar for each line: days, shifts as frames, stops as ink; the list below says the same in words. */
export function PlanWeekPicture({ plan, titles, language }: { readonly plan: PlanView; readonly titles: ReadonlyMap<string, string>; readonly language: Language }) {
  const fromMs = Date.parse(plan.from)
  const lengthMs = Date.parse(plan.until) - fromMs
  const place = (from: string, until: string): { left: string; width: string } => {
    const left = Math.max(0, (Date.parse(from) - fromMs) / lengthMs)
    const right = Math.min(1, (Date.parse(until) - fromMs) / lengthMs)
    return { left: `${left * 100}%`, width: `${Math.max(0.4, (right - left) * 100)}%` }
  }
  const days = Array.from({ length: 7 }, (_, index) => new Date(fromMs + (index + 0.5) * DAY_MS))
  const dayPart = (options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat => new Intl.DateTimeFormat(language, { ...options, timeZone: plan.timeZone })
  const [weekday, date] = [dayPart({ weekday: 'short' }), dayPart({ day: 'numeric' })]
  return (
    <figure class="scroll week-picture">
      <div class="week-days" aria-hidden="true">
        {days.map((day) => (
          <span key={day.getTime()}>{`${weekday.format(day)} ${date.format(day)}`}</span>
        ))}
      </div>
      {[...titles].map(([line, title]) => (
        <div key={line} class="week-line">
          <span class="week-title">{title}</span>
          <div class="week-bar" role="img" aria-label={`${title}: ${plan.stops.filter((stop) => stop.line === line).map((stop) => timeText(stop.from, language, plan.timeZone)).join(', ') || planText(language, 'no-stops')}`}>
            {days.slice(1).map((day, index) => (
              <i key={day.getTime()} class="week-night" style={{ left: `${((index + 1) / 7) * 100}%` }} />
            ))}
            {plan.shifts
              .filter((shift) => shift.line === line)
              .map((shift) => (
                <i key={shift.from} class={shift.production ? 'week-shift' : 'week-shift quiet'} style={place(shift.from, shift.until)} title={`${shift.name}: ${shift.people}`} />
              ))}
            {plan.stops
              .filter((stop) => stop.line === line)
              .map((stop) => (
                <i key={stop.id} class={stop.agreed ? 'week-stop is-agreed' : 'week-stop'} style={place(stop.from, stop.until)} title={`${timeText(stop.from, language, plan.timeZone)} · ${stop.minutes} min`} />
              ))}
          </div>
        </div>
      ))}
      <figcaption>{planText(language, 'picture')}</figcaption>
    </figure>
  )
}
