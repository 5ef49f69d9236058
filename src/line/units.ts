/** Base unit of every quantity the tool knows; all numbers inside are in these. */
export type BaseUnit = '°C' | 'mm/s' | 'mm' | 'A' | 'bar' | 'mL/min' | '%' | 'Pa' | 'rpm' | 'count' | 's' | 'g' | 'none'

interface UnitConversion {
  readonly base: BaseUnit
  /** base = value * factor + offset */
  readonly factor: number
  readonly offset: number
}

/**
 * The one table of units. Factors are exact by definition: 1 ft = 304.8 mm and 1 in = 25.4 mm (international yard and
 * pound agreement, 1959); 1 psi = 6894.757293168 Pa (from the pound, standard gravity and the inch); °F by definition.
 * Keys are compared without case and blanks.
 */
const UNITS: Readonly<Record<string, UnitConversion>> = {
  '°c': { base: '°C', factor: 1, offset: 0 },
  c: { base: '°C', factor: 1, offset: 0 },
  degc: { base: '°C', factor: 1, offset: 0 },
  cel: { base: '°C', factor: 1, offset: 0 },
  '°f': { base: '°C', factor: 5 / 9, offset: -160 / 9 },
  f: { base: '°C', factor: 5 / 9, offset: -160 / 9 },
  degf: { base: '°C', factor: 5 / 9, offset: -160 / 9 },
  k: { base: '°C', factor: 1, offset: -273.15 },
  'mm/s': { base: 'mm/s', factor: 1, offset: 0 },
  'cm/s': { base: 'mm/s', factor: 10, offset: 0 },
  'm/s': { base: 'mm/s', factor: 1000, offset: 0 },
  'mm/min': { base: 'mm/s', factor: 1 / 60, offset: 0 },
  'cm/min': { base: 'mm/s', factor: 10 / 60, offset: 0 },
  'm/min': { base: 'mm/s', factor: 1000 / 60, offset: 0 },
  'ft/min': { base: 'mm/s', factor: 304.8 / 60, offset: 0 },
  fpm: { base: 'mm/s', factor: 304.8 / 60, offset: 0 },
  'in/min': { base: 'mm/s', factor: 25.4 / 60, offset: 0 },
  ipm: { base: 'mm/s', factor: 25.4 / 60, offset: 0 },
  mm: { base: 'mm', factor: 1, offset: 0 },
  cm: { base: 'mm', factor: 10, offset: 0 },
  m: { base: 'mm', factor: 1000, offset: 0 },
  in: { base: 'mm', factor: 25.4, offset: 0 },
  a: { base: 'A', factor: 1, offset: 0 },
  ma: { base: 'A', factor: 0.001, offset: 0 },
  bar: { base: 'bar', factor: 1, offset: 0 },
  mbar: { base: 'bar', factor: 0.001, offset: 0 },
  psi: { base: 'bar', factor: 0.06894757293168, offset: 0 },
  kpa: { base: 'bar', factor: 0.01, offset: 0 },
  mpa: { base: 'bar', factor: 10, offset: 0 },
  pa: { base: 'Pa', factor: 1, offset: 0 },
  'ml/min': { base: 'mL/min', factor: 1, offset: 0 },
  'l/min': { base: 'mL/min', factor: 1000, offset: 0 },
  'l/h': { base: 'mL/min', factor: 1000 / 60, offset: 0 },
  'ml/h': { base: 'mL/min', factor: 1 / 60, offset: 0 },
  '%': { base: '%', factor: 1, offset: 0 },
  percent: { base: '%', factor: 1, offset: 0 },
  share: { base: '%', factor: 100, offset: 0 },
  rpm: { base: 'rpm', factor: 1, offset: 0 },
  '1/min': { base: 'rpm', factor: 1, offset: 0 },
  count: { base: 'count', factor: 1, offset: 0 },
  s: { base: 's', factor: 1, offset: 0 },
  ms: { base: 's', factor: 0.001, offset: 0 },
  min: { base: 's', factor: 60, offset: 0 },
  g: { base: 'g', factor: 1, offset: 0 },
  kg: { base: 'g', factor: 1000, offset: 0 },
  none: { base: 'none', factor: 1, offset: 0 },
  '1': { base: 'none', factor: 1, offset: 0 },
}

/** Conversion of a value into a base unit, or why there is none. */
export type ConversionResult = { readonly kind: 'value'; readonly value: number } | { readonly kind: 'unknown-unit'; readonly expected: string }

/**
 * Converts a number given in `unit` to the base unit of a channel.
 *
 * @param value finite number in `unit`
 * @param unit a unit name, e.g. `°F`, `m/min`, `psi`; case and blanks do not count
 * @param base the unit the channel is kept in; pressure may be asked for in `bar` or `Pa`
 * @returns the value in `base`, or `unknown-unit` with the names that would do
 */
export function convertUnit(value: number, unit: string, base: BaseUnit): ConversionResult {
  const conversion = UNITS[unit.toLowerCase().replaceAll(' ', '')]
  if (conversion !== undefined && Object.hasOwn(UNITS, unit.toLowerCase().replaceAll(' ', ''))) {
    const inOwnBase = value * conversion.factor + conversion.offset
    if (conversion.base === base) return { kind: 'value', value: inOwnBase }
    if (conversion.base === 'bar' && base === 'Pa') return { kind: 'value', value: inOwnBase * 1e5 }
    if (conversion.base === 'Pa' && base === 'bar') return { kind: 'value', value: inOwnBase / 1e5 }
  }
  return { kind: 'unknown-unit', expected: unitNamesFor(base).join(', ') }
}

/** Names of all units that convert to `base`. */
export function unitNamesFor(base: BaseUnit): string[] {
  const bases: BaseUnit[] = base === 'bar' || base === 'Pa' ? ['bar', 'Pa'] : [base]
  return Object.entries(UNITS).filter(([, conversion]) => bases.includes(conversion.base)).map(([name]) => name)
}
