/** Base unit of every quantity the tool knows; all numbers inside are in these. */
export type BaseUnit = '°C' | 'mm/s' | 'mm' | 'A' | 'bar' | 'mL/min' | '%' | 'Pa' | 'rpm' | 'count' | 's' | 'g' | 'none'

/** How a unit becomes its base unit: base = value * factor + offset. */
export interface UnitConversion {
  readonly base: BaseUnit
  readonly factor: number
  readonly offset: number
}

/**
 * The one table of units. Factors are exact by definition: 1 ft = 304.8 mm and 1 in = 25.4 mm (international yard and
 * pound agreement, 1959); 1 psi = 6894.757293168 Pa (from the pound, standard gravity and the inch); °F by definition.
 * Water columns by the conventional 9.80665 Pa per mm. Keys are compared without case and blanks.
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
  mmh2o: { base: 'Pa', factor: 9.80665, offset: 0 },
  inh2o: { base: 'Pa', factor: 249.08891, offset: 0 },
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
 * How a unit becomes the base unit of a channel, for those who convert many values; undefined where it cannot.
 * Pressure may be asked for in `bar` or `Pa`.
 */
export function unitConversion(unit: string, base: BaseUnit): UnitConversion | undefined {
  const key = unit.toLowerCase().replaceAll(/\s/g, '').replace('º', '°').replace('℃', '°c').replace('℉', '°f')
  const conversion = Object.hasOwn(UNITS, key) ? UNITS[key] : undefined
  if (conversion === undefined || conversion.base === base) return conversion
  if (conversion.base === 'bar' && base === 'Pa') return { base, factor: conversion.factor * 1e5, offset: 0 }
  if (conversion.base === 'Pa' && base === 'bar') return { base, factor: conversion.factor / 1e5, offset: 0 }
  return undefined
}

/**
 * Converts a number given in `unit` to the base unit of a channel.
 *
 * @param value finite number in `unit`
 * @param unit a unit name, e.g. `°F`, `m/min`, `psi`; case and blanks do not count
 * @param base the unit the channel is kept in; pressure may be asked for in `bar` or `Pa`
 * @returns the value in `base`, or `unknown-unit` with the names that would do
 */
export function convertUnit(value: number, unit: string, base: BaseUnit): ConversionResult {
  const conversion = unitConversion(unit, base)
  if (conversion === undefined) return { kind: 'unknown-unit', expected: unitNamesFor(base).join(', ') }
  return { kind: 'value', value: value * conversion.factor + conversion.offset }
}

/** Names of all units that convert to `base`. */
export function unitNamesFor(base: BaseUnit): string[] {
  const bases: BaseUnit[] = base === 'bar' || base === 'Pa' ? ['bar', 'Pa'] : [base]
  return Object.entries(UNITS).filter(([, conversion]) => bases.includes(conversion.base)).map(([name]) => name)
}

/** Units as people write them; the keys of the table are compared without case. */
const WRITTEN: Readonly<Record<string, string>> = { '°c': '°C', '°f': '°F', k: 'K', a: 'A', ma: 'mA', pa: 'Pa', kpa: 'kPa', mpa: 'MPa', mmh2o: 'mmH2O', inh2o: 'inH2O', 'ml/min': 'mL/min', 'l/min': 'L/min', 'l/h': 'L/h', 'ml/h': 'mL/h' }

/** Units that convert to `base`, each under one name and as it is written, the base unit first. */
export function writtenUnitsFor(base: BaseUnit): string[] {
  const first = new Map<string, string>()
  for (const name of unitNamesFor(base)) {
    const { factor, offset } = unitConversion(name, base)!
    const key = `${factor} ${offset}`
    if (!first.has(key)) first.set(key, WRITTEN[name] ?? name)
  }
  return [...first.values()].sort((a, b) => Number(b === base) - Number(a === base))
}
