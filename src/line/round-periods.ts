/** How often a check of a round comes. */
export const ROUND_PERIODS = ['shift', 'day', 'week', 'month', 'event'] as const
export type RoundPeriod = (typeof ROUND_PERIODS)[number]
