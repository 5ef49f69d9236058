import type { FeatureSpec } from '../../line/features/feature-catalogue.js'
import type { LineDefinition } from '../../line/line-definition.js'
import { runInEnd } from './proof-case.js'
import { between } from './proof-history.js'
import type { ProofState } from './proof-state.js'
import type { ReferenceFact } from './reference-fact.js'
import { sectionsServiced, type SectionService, type ServiceWork } from './section-service.js'

/** Windows after the run-in before a new reference is offered. [ASM] */
const WINDOWS_MIN = 12

/** What the references of all sections are worth now. */
export function referenceFacts(state: ProofState, definition: LineDefinition, specOf: ReadonlyMap<string, FeatureSpec>, nowMs: number): ReferenceFact[] {
  const works = Object.entries(state.services).map(([key, timeMs]): ServiceWork => {
    const [section = '', work = '', zone = ''] = key.split(' ')
    return { section, work, timeMs, ...(zone === '' ? {} : { zone: Number(zone) }) }
  })
  return sectionsServiced(works, definition).map((service): ReferenceFact => {
    const { section, zone, servicedMs, missing } = service
    return {
      type: 'reference',
      id: `reference-${section}${zone === undefined ? '' : `-${zone}`}`,
      timeMs: nowMs,
      section,
      ...(zone === undefined ? {} : { zone }),
      provisional: servicedMs === undefined,
      ...(servicedMs === undefined ? {} : { servicedMs }),
      missing,
      offers: offersOf(service, state, specOf),
    }
  })
}

function offersOf({ section, zone, servicedMs }: SectionService, state: ProofState, specOf: ReadonlyMap<string, FeatureSpec>): ReferenceFact['offers'] {
  const fromMs = servicedMs === undefined ? undefined : runInEnd(servicedMs, state)
  if (servicedMs === undefined || fromMs === undefined) return []
  return Object.entries(state.levels).flatMap(([key, level]) => {
    const at = key.indexOf(' ')
    const feature = key.slice(0, at)
    const recipe = key.slice(at + 1)
    const spec = specOf.get(feature)
    if (spec === undefined || spec.section !== section || spec.zone !== zone || !level.usable || level.sinceMs >= servicedMs) return []
    const recipes = Object.entries(state.histories[feature]?.recipes ?? {}).filter(([name]) => recipe === 'all' || name === recipe)
    const values = recipes.flatMap(([, stretch]) => between(stretch, fromMs + spec.windowS * 1000 - 1, Number.MAX_SAFE_INTEGER).values)
    if (values.length < WINDOWS_MIN) return []
    const since = values.reduce((sum, value) => sum + value, 0) / values.length
    return [{ feature, recipe, centre: level.centre, since: Number(since.toPrecision(6)), windows: values.length }]
  })
}
