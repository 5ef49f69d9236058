import { CHECKS } from '../../line/diagnosis/checks.js'
import type { LineDefinition } from '../../line/line-definition.js'
import { siteCatalogue, type SiteCatalogue } from '../site-catalogue.js'
import type { WorkRecord } from '../suggestion.js'
import { PRODUCT_FACTS, flashGate, type FlashGate } from '../work-products.js'
import type { WorkItem } from '../work-catalogue.js'

/** Why an entry or record was not taken: a reason key and what its sentence needs. */
export interface Refusal {
  readonly reason: string
  readonly values: Readonly<Record<string, number | string>>
}

/**
 * What speaks against a record of work: a job or place the line does not have, a product that is not approved, a cleaner
 * that may catch fire where it was used. What was done with another product all the same is recorded with its deviation.
 *
 * @returns undefined where nothing does
 */
export function recordRefusal(record: WorkRecord, definition: LineDefinition): Refusal | undefined {
  const catalogue = siteCatalogue(definition)
  const zones = definition.machine.zones.length
  if (record.zone !== undefined && record.zone > zones) return { reason: 'record.no-such-zone', values: { zone: record.zone, zones } }
  const check = CHECKS.find((known) => known.check === record.work)
  const item = catalogue.item(record.work)
  if (item === undefined && check === undefined) return { reason: 'record.unknown-work', values: { work: record.work, expected: worksOf(catalogue, record.section).join(', ') } }
  const section = item?.section ?? check!.section
  if (record.section !== section && section !== 'line') return { reason: 'record.wrong-section', values: { work: record.work, expected: section } }
  if (record.product === undefined || item === undefined || record.deviation !== undefined) return undefined
  return productRefusal(record.product, item, catalogue) ?? gateRefusal(record.product, record.surfaceC, catalogue)
}

/** A product that is not on the list of the job. */
export function productRefusal(name: string, item: WorkItem, catalogue: SiteCatalogue): Refusal | undefined {
  const product = catalogue.product(name)
  const expected = catalogue.approved(item).join(', ')
  if (product === undefined) return { reason: 'record.unknown-product', values: { product: name, expected } }
  if (item.products.includes(product.class)) return undefined
  const never = PRODUCT_FACTS[product.class].never
  return { reason: never === undefined ? 'record.product-not-approved' : `record.product-${never}`, values: { product: name, work: item.id, expected } }
}

/** A cleaner whose flash point does not lie far enough above the hottest surface measured by hand. */
export function gateRefusal(name: string, surfaceC: number | undefined, catalogue: SiteCatalogue): Refusal | undefined {
  const product = catalogue.product(name)
  // Lubricants and alloys are not wiped on as solvents; the manual and the data sheet say how hot the chain may be.
  if (product === undefined || PRODUCT_FACTS[product.class].kind !== 'cleaner') return undefined
  return refusalOfGate(flashGate(product.flashPointC, surfaceC), name)
}

function refusalOfGate(gate: FlashGate, product: string): Refusal | undefined {
  switch (gate.kind) {
    case 'released':
      return undefined
    case 'surface-not-measured':
      return { reason: 'record.surface-not-measured', values: { product } }
    case 'flash-point-unknown':
      return { reason: 'record.flash-point-unknown', values: { product } }
    case 'too-hot':
      return { reason: 'record.flash-point-too-low', values: { product, flashPointC: gate.flashPointC, surfaceC: gate.surfaceC, coolToC: gate.coolToC } }
  }
}

function worksOf(catalogue: SiteCatalogue, section: string): string[] {
  const fits = (of: string): boolean => section === 'line' || of === section
  return [...catalogue.items.filter((item) => fits(item.section)).map(({ id }) => id), ...CHECKS.filter((check) => fits(check.section)).map(({ check }) => check)]
}

/**
 * Whether the job's own hand check passed: by what the person says, and by the measured values where the catalogue has a
 * band. A value outside its band fails it whatever was said.
 *
 * @returns undefined where nothing was checked
 */
export function handCheckPassed(record: WorkRecord, item: WorkItem | undefined): boolean | undefined {
  const measured = (item?.passIf ?? []).flatMap(({ value, lower, upper }) => {
    const found = record.values?.[value]
    return found === undefined ? [] : [(lower === undefined || found >= lower) && (upper === undefined || found <= upper)]
  })
  if (measured.includes(false) || record.handCheck === 'failed') return false
  return measured.length > 0 || record.handCheck === 'passed' ? true : undefined
}

/** A record with what its own hand check came to, where the measured values tell it. */
export function withHandCheck(record: WorkRecord, definition: LineDefinition): WorkRecord {
  const passed = handCheckPassed(record, siteCatalogue(definition).item(record.work))
  return passed === undefined ? record : { ...record, handCheck: passed ? 'passed' : 'failed' }
}
