/** Why a job is put off; texts in the wording of jobs. */
export const JOB_PUT_OFF_REASONS = ['no-time-now', 'no-people', 'parts-missing', 'planned-stop-soon', 'order-must-finish', 'other'] as const
/** Why a job is dropped by a person. */
export const JOB_DROP_REASONS = ['checked-and-clean', 'not-needed', 'already-done', 'entered-by-mistake', 'other'] as const

/** Why the line must not run as it stands. */
export const DO_NOT_START = ['washed-not-lubricated', 'not-lubricated', 'follow-up-missing', 'work-under-way', 'not-returned-to-service'] as const
export type DoNotStart = (typeof DO_NOT_START)[number]

/** Every reason for which a step of a job or a record is refused. */
export const REFUSAL_REASONS = [
  'job.unknown',
  'job.unknown-work',
  'job.closed',
  'job.already-there',
  'job.not-possible-now',
  'job.two-people-needed',
  'job.people-not-given',
  'job.reason-missing',
  'job.until-missing',
  'job.until-in-the-past',
  'job.until-too-far',
  'job.engineer-needed',
  'job.work-under-way',
  'job.holder-missing',
  'job.not-the-holder',
  'job.holder-must-release',
  'job.return-steps-open',
  'job.no-such-step',
  'job.part-missing',
  'job.record-missing',
  'job.follow-up-missing',
  'job.is-urgent',
  'record.unknown-work',
  'record.wrong-section',
  'record.no-such-zone',
  'record.unknown-product',
  'record.product-not-approved',
  'record.product-gums-up',
  'record.product-silicone',
  'record.surface-not-measured',
  'record.flash-point-unknown',
  'record.flash-point-too-low',
  'correction.unknown-record',
  'correction.already-withdrawn',
] as const
export type RefusalReason = (typeof REFUSAL_REASONS)[number]
