import type { InLanguages, Language } from '../catalogue-language.js'
import type { JobFact, JobSource, JobStatus } from './job-fact.js'
import type { DoNotStart, JOB_DROP_REASONS, RefusalReason } from './job-reasons.js'

export const JOB_STATUS_TEXTS: Readonly<Record<JobStatus, InLanguages<string>>> = {
  open: { 'en-US': 'open', es: 'abierto' },
  taken: { 'en-US': 'taken', es: 'tomado' },
  started: { 'en-US': 'started', es: 'empezado' },
  paused: { 'en-US': 'paused', es: 'en pausa' },
  'waiting-for-part': { 'en-US': 'waiting for a part', es: 'espera una pieza' },
  'put-off': { 'en-US': 'put off', es: 'aplazado' },
  'half-done': { 'en-US': 'half done', es: 'a medias' },
  done: { 'en-US': 'done', es: 'hecho' },
  dropped: { 'en-US': 'dropped', es: 'descartado' },
}

export const JOB_SOURCE_TEXTS: Readonly<Record<JobSource, InLanguages<string>>> = {
  suggestion: { 'en-US': 'from a suggestion', es: 'de una sugerencia' },
  entry: { 'en-US': 'entered by a person', es: 'anotado por una persona' },
  round: { 'en-US': 'found on a round', es: 'hallado en una ronda' },
  change: { 'en-US': 'after something changed at the line', es: 'tras un cambio en la línea' },
  record: { 'en-US': 'from a record of work', es: 'de un trabajo anotado' },
  lead: { 'en-US': 'called for by another job', es: 'pedido por otro trabajo' },
  watch: { 'en-US': 'seen in the channels of the line', es: 'visto en los canales de la línea' },
}

export const DO_NOT_START_TEXTS: Readonly<Record<DoNotStart, InLanguages<string>>> = {
  'washed-not-lubricated': { 'en-US': 'Chain washed, not lubricated: do not start', es: 'Cadena lavada, sin lubricar: no arrancar' },
  'not-lubricated': { 'en-US': 'Chain replaced, not lubricated: do not start', es: 'Cadena cambiada, sin lubricar: no arrancar' },
  'follow-up-missing': { 'en-US': 'Half done, what must follow is missing: do not start', es: 'A medias, falta lo que debe seguir: no arrancar' },
  'work-under-way': { 'en-US': 'Work under way at the machine: do not start', es: 'Trabajo en curso en la máquina: no arrancar' },
  'not-returned-to-service': { 'en-US': 'Work done, not yet returned to service: do not start', es: 'Trabajo hecho, aún sin devolver al servicio: no arrancar' },
}

/** What is said beside the time at which a line ran although it must not; it is told, never acted upon. */
export const RAN_ANYWAY_TEXT: InLanguages<string> = {
  'en-US': 'It is said here and marked on the charts; this program moves nothing.',
  es: 'Se dice aquí y se marca en las gráficas; este programa no mueve nada.',
}

export const URGENT_TEXT: InLanguages<string> = {
  'en-US': 'Go and look now. The machine’s own alarms and interlocks remain the protection, not this message.',
  es: 'Vaya a mirar ahora. La protección siguen siendo las alarmas y enclavamientos de la máquina, no este mensaje.',
}

export const JOB_DROP_TITLES: Readonly<Record<(typeof JOB_DROP_REASONS)[number], InLanguages<string>>> = {
  'checked-and-clean': { 'en-US': 'checked, it is clean', es: 'comprobado, está limpio' },
  'not-needed': { 'en-US': 'not needed', es: 'no hace falta' },
  'already-done': { 'en-US': 'already done', es: 'ya está hecho' },
  'entered-by-mistake': { 'en-US': 'entered by mistake', es: 'anotado por error' },
  other: { 'en-US': 'other', es: 'otro' },
}

/** Why a step of a job or a record was not taken; `{…}` are filled in. */
export const REFUSAL_TEXTS: Readonly<Record<RefusalReason, InLanguages<string>>> = {
  'job.unknown': { 'en-US': 'There is no job "{job}".', es: 'No hay ningún trabajo «{job}».' },
  'job.unknown-work': { 'en-US': 'The catalogue has no job "{work}". Expected one of: {expected}.', es: 'El catálogo no tiene el trabajo «{work}». Se espera uno de: {expected}.' },
  'job.closed': { 'en-US': 'The job is closed already.', es: 'El trabajo ya está cerrado.' },
  'job.already-there': { 'en-US': 'This job waits already.', es: 'Este trabajo ya está pendiente.' },
  'job.not-possible-now': { 'en-US': 'Not possible while the job is as it is ({status}); expected: {expected}.', es: 'No es posible mientras el trabajo está así ({status}); se espera: {expected}.' },
  'job.two-people-needed': { 'en-US': 'This job needs {needed} people; there is {people}.', es: 'Este trabajo necesita {needed} personas; hay {people}.' },
  'job.people-not-given': { 'en-US': 'This job needs {needed} people: say how many are there.', es: 'Este trabajo necesita {needed} personas: diga cuántas hay.' },
  'job.reason-missing': { 'en-US': 'Give a reason of the list: {expected}.', es: 'Dé un motivo de la lista: {expected}.' },
  'job.until-missing': { 'en-US': 'Say until when it is put off.', es: 'Diga hasta cuándo se aplaza.' },
  'job.until-in-the-past': { 'en-US': 'The time it is put off to lies in the past.', es: 'La hora hasta la que se aplaza ya ha pasado.' },
  'job.until-too-far': { 'en-US': 'It can be put off for at most {days} days.', es: 'Se puede aplazar como máximo {days} días.' },
  'job.engineer-needed': { 'en-US': 'A safety job: after {days} days it can be put off or dropped only by a named engineer.', es: 'Es un trabajo de seguridad: pasados {days} días solo puede aplazarlo o descartarlo un ingeniero con su nombre.' },
  'job.work-under-way': { 'en-US': 'Work is under way or something is taken apart: finish it or hand it over.', es: 'Hay trabajo en curso o algo desmontado: termínelo o entréguelo.' },
  'job.holder-missing': { 'en-US': 'Say who holds the isolation.', es: 'Diga quién tiene el bloqueo.' },
  'job.not-the-holder': { 'en-US': 'Each owner removes the own lock. It is held by: {holders}.', es: 'Cada dueño quita su propio candado. Lo tiene: {holders}.' },
  'job.holder-must-release': { 'en-US': 'The isolation is still on, held by: {holders}. Each owner removes the own lock.', es: 'El bloqueo sigue puesto; lo tiene: {holders}. Cada dueño quita su propio candado.' },
  'job.return-steps-open': { 'en-US': 'Steps before the line may run are still open: {missing}.', es: 'Faltan pasos antes de que la línea pueda arrancar: {missing}.' },
  'job.no-such-step': { 'en-US': 'There is no step "{step}". Expected one of: {expected}.', es: 'No hay ningún paso «{step}». Se espera uno de: {expected}.' },
  'job.part-missing': { 'en-US': 'Say which part is waited for.', es: 'Diga qué pieza se espera.' },
  'job.record-missing': { 'en-US': 'Record the work first: what was found and how long it took.', es: 'Anote antes el trabajo: qué se encontró y cuánto llevó.' },
  'job.follow-up-missing': { 'en-US': 'What must follow is not recorded yet: {work}.', es: 'Aún no está anotado lo que debe seguir: {work}.' },
  'job.is-urgent': { 'en-US': 'This cannot wait and cannot be dropped.', es: 'Esto no puede esperar ni descartarse.' },
  'record.unknown-work': { 'en-US': 'The catalogue has no job or check "{work}". Expected one of: {expected}.', es: 'El catálogo no tiene el trabajo o la comprobación «{work}». Se espera uno de: {expected}.' },
  'record.wrong-section': { 'en-US': '"{work}" belongs to the section {expected}.', es: '«{work}» pertenece a la sección {expected}.' },
  'record.no-such-zone': { 'en-US': 'There is no zone {zone}; the line has {zones}.', es: 'No hay zona {zone}; la línea tiene {zones}.' },
  'record.unknown-product': { 'en-US': '"{product}" is not on the site’s list. Approved here: {expected}.', es: '«{product}» no está en la lista de la planta. Aprobados aquí: {expected}.' },
  'record.product-not-approved': { 'en-US': '"{product}" is not approved for this job. Approved: {expected}.', es: '«{product}» no está aprobado para este trabajo. Aprobados: {expected}.' },
  'record.product-gums-up': { 'en-US': '"{product}" turns sticky with heat and is approved for no job here. Approved: {expected}.', es: '«{product}» se vuelve pegajoso con el calor y no está aprobado para ningún trabajo. Aprobados: {expected}.' },
  'record.product-silicone': { 'en-US': '"{product}" holds silicone and harms soldering, bonding and coating. Approved: {expected}.', es: '«{product}» contiene silicona y perjudica la soldadura, el pegado y el recubrimiento. Aprobados: {expected}.' },
  'record.surface-not-measured': { 'en-US': '"{product}" burns: measure the hottest surface within reach by hand and enter it. A zone’s reading does not count.', es: '«{product}» arde: mida a mano la superficie más caliente al alcance y anótela. La lectura de una zona no cuenta.' },
  'record.flash-point-unknown': { 'en-US': 'The flash point of "{product}" is not on the site’s list: take it from the safety data sheet.', es: 'El punto de inflamación de «{product}» no está en la lista de la planta: tómelo de la ficha de seguridad.' },
  'record.flash-point-too-low': { 'en-US': '"{product}" flashes at {flashPointC} °C and the surface is at {surfaceC} °C: not before it is below {coolToC} °C.', es: '«{product}» se inflama a {flashPointC} °C y la superficie está a {surfaceC} °C: no antes de que baje de {coolToC} °C.' },
  'correction.unknown-record': { 'en-US': 'There is no record "{record}" that can be corrected.', es: 'No hay ningún registro «{record}» que se pueda corregir.' },
  'correction.already-withdrawn': { 'en-US': 'This record was taken back already.', es: 'Este registro ya se retiró.' },
}

/** Why something was refused, as a sentence; undefined for a reason that is not of jobs or records. */
export function jobRefusalText(reason: string, values: Readonly<Record<string, number | string>>, language: Language): string | undefined {
  if (!Object.hasOwn(REFUSAL_TEXTS, reason)) return undefined
  const sentence = REFUSAL_TEXTS[reason as RefusalReason][language]
  const names = [...sentence.matchAll(/\{([A-Za-z]+)\}/g)].map(([, name]) => name!)
  return names.reduce((text, name) => text.replace(`{${name}}`, () => String(values[name] ?? '')), sentence)
}

/** The one sentence that stands on every screen while the line must not run. */
export function doNotStartText(job: Pick<JobFact, 'doNotStart'>, language: Language): string | undefined {
  const key = job.doNotStart
  return key !== undefined && Object.hasOwn(DO_NOT_START_TEXTS, key) ? DO_NOT_START_TEXTS[key as DoNotStart][language] : undefined
}
