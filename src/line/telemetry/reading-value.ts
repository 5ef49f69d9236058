import { channelConversion } from '../channels.js'
import type { RejectionReason } from '../reading.js'
import type { BoundChannel } from './channel-binding.js'

export type ValueResult =
  | { readonly kind: 'value'; readonly value: number | string }
  | { readonly kind: 'rejected'; readonly reason: RejectionReason; readonly expected: string }

const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/
const NOT_FINITE = /^[+-]?(?:nan|inf|infinity|1\.#(?:inf|qnan|ind).*)$/i
const SWITCH_WORDS: Readonly<Record<string, number>> = { on: 1, off: 0, true: 1, false: 0 }

/** Longest text of a text channel: a recipe or a state is a name, not a document. */
const TEXT_LENGTH_MAX = 200

/**
 * Checks one value of a known channel and brings it to the base unit.
 *
 * @param value still unchecked: a number, a text that holds one, a switch for a 0/1 channel, a text for a text channel
 * @param unit unit name that came with it, still unchecked; without one the definition's holds
 */
export function checkValue(bound: BoundChannel, value: unknown, unit: unknown): ValueResult {
  if (value === undefined || value === null || value === '') return { kind: 'rejected', reason: 'value-missing', expected: expectedValue(bound) }
  if (bound.channelKind.valueType === 'text') return checkText(bound, value)
  const number = typeof value === 'number' ? value : toNumber(bound, value)
  if (number === undefined) return { kind: 'rejected', reason: 'unreadable-payload', expected: expectedValue(bound) }
  if (!Number.isFinite(number)) return { kind: 'rejected', reason: 'not-finite', expected: expectedValue(bound) }
  let { factor, offset } = bound
  if (unit !== undefined && unit !== null && unit !== '') {
    const conversion = channelConversion(bound.channelKind, typeof unit === 'string' ? unit : '')
    if (conversion.kind === 'unknown-unit') return { kind: 'rejected', reason: 'unknown-unit', expected: conversion.expected }
    factor = conversion.factor
    offset = conversion.offset
  }
  const base = number * factor + offset
  const { possibleMin, possibleMax } = bound.channelKind
  if (!(base >= possibleMin && base <= possibleMax)) return { kind: 'rejected', reason: 'impossible-value', expected: expectedValue(bound) }
  return { kind: 'value', value: base }
}

/** What a channel takes, in words for people. */
export function expectedValue(bound: BoundChannel): string {
  const { valueType, possibleMin, possibleMax, unit } = bound.channelKind
  if (valueType === 'text') return `a text of at most ${TEXT_LENGTH_MAX} characters`
  return `a number such as 12.5, within ${possibleMin} to ${possibleMax}${unit === 'none' ? '' : ` ${unit}`}`
}

function checkText(bound: BoundChannel, value: unknown): ValueResult {
  const text = typeof value === 'string' ? value.trim() : typeof value === 'number' || typeof value === 'boolean' ? String(value) : undefined
  // The replacement character is what a payload that was no UTF-8 turned into.
  if (text === undefined || text.includes('\ufffd')) return { kind: 'rejected', reason: 'unreadable-payload', expected: expectedValue(bound) }
  if (text === '') return { kind: 'rejected', reason: 'value-missing', expected: expectedValue(bound) }
  if (text.length > TEXT_LENGTH_MAX || /[\u0000-\u001f\u007f]/.test(text)) return { kind: 'rejected', reason: 'impossible-value', expected: expectedValue(bound) }
  return { kind: 'value', value: text }
}

function toNumber(bound: BoundChannel, value: unknown): number | undefined {
  const isSwitch = bound.channelKind.unit === 'none' && bound.channelKind.possibleMin === 0 && bound.channelKind.possibleMax === 1
  if (typeof value === 'boolean') return isSwitch ? Number(value) : undefined
  if (typeof value !== 'string') return undefined
  const text = value.trim()
  if (NUMBER.test(text)) return Number(text)
  if (NOT_FINITE.test(text)) return Number.NaN
  const word = text.toLowerCase()
  return isSwitch && Object.hasOwn(SWITCH_WORDS, word) ? SWITCH_WORDS[word] : undefined
}
