import { featureParts } from '../../line/diagnosis/symptom-map.js'
import type { InLanguages, Language } from '../catalogue-language.js'
import { FEATURE_WORDS } from '../wording-data-features.js'
import { workTitle } from '../plan/plan-words.js'
import { dateText, fill, listText } from '../wording-format.js'
import type { ProofFact, ProofVerdict } from './proof-fact.js'
import type { ReferenceFact } from './reference-fact.js'

const VERDICTS: Readonly<Record<ProofVerdict, InLanguages<string>>> = {
  helped: { 'en-US': 'Helped', es: 'Ayudó' },
  'did-not-help': { 'en-US': 'Did not help', es: 'No ayudó' },
  'too-early': { 'en-US': 'Too early to say', es: 'Aún es pronto' },
  'was-clean': { 'en-US': 'Was still clean, nothing to gain', es: 'Seguía limpio, nada que ganar' },
  'no-channel': { 'en-US': 'No sensor sees this', es: 'Ningún sensor lo ve' },
  'checked-by-hand': { 'en-US': 'Checked by hand', es: 'Comprobado a mano' },
  'not-attributable': { 'en-US': 'Cannot be told', es: 'No se puede atribuir' },
}

const REASONS: Readonly<Record<string, InLanguages<string>>> = {
  'proof.better': { 'en-US': 'After the run-in the charts stand clearly better than before, under the same recipe.', es: 'Tras el rodaje las gráficas están claramente mejor que antes, con la misma receta.' },
  'proof.better-than-reference': { 'en-US': 'Better than what the charts had learned as normal: a new reference is offered.', es: 'Mejor que lo que las gráficas habían aprendido como normal: se ofrece una nueva referencia.' },
  'proof.partly': { 'en-US': 'Part of the change is still there.', es: 'Parte del cambio sigue ahí.' },
  'proof.no-better': { 'en-US': 'The change stands as before: look for another cause.', es: 'El cambio sigue como antes: busque otra causa.' },
  'proof.worse-after': { 'en-US': 'The charts stand worse than before the work.', es: 'Las gráficas están peor que antes del trabajo.' },
  'proof.follow-up-missing': { 'en-US': 'The job that must follow is not recorded.', es: 'Falta registrar el trabajo que debe seguir.' },
  'proof.at-reference-before': { 'en-US': 'The charts stood at their reference before the work already, and still do.', es: 'Las gráficas ya estaban en su referencia antes del trabajo, y lo siguen.' },
  'proof.found-clean': { 'en-US': 'It was found clean and nothing has changed.', es: 'Se encontró limpio y nada ha cambiado.' },
  'proof.dirt-not-seen': { 'en-US': 'Dirt was found, but the charts stood at their reference: this dirt they do not see.', es: 'Se encontró suciedad, pero las gráficas estaban en su referencia: esta suciedad no la ven.' },
  'proof.no-channel': { 'en-US': "No channel of this line shows it. The job's own check by hand tells.", es: 'Ningún canal de esta línea lo muestra. Lo dice la comprobación a mano del propio trabajo.' },
  'proof.hand-check-passed': { 'en-US': "The job's own check by hand was in order.", es: 'La comprobación a mano del propio trabajo estaba en orden.' },
  'proof.hand-check-failed': { 'en-US': "The job's own check by hand was not in order.", es: 'La comprobación a mano del propio trabajo no estaba en orden.' },
  'proof.windows-missing': { 'en-US': 'More production under the same recipe is needed.', es: 'Hace falta más producción con la misma receta.' },
  'proof.two-jobs-at-once': { 'en-US': 'Done together with {others}: which of them helped cannot be told.', es: 'Se hizo junto con {others}: no se puede saber cuál ayudó.' },
  'proof.with-follow-up': { 'en-US': 'Judged together with {others}.', es: 'Juzgado junto con {others}.' },
  'proof.some-better-some-worse': { 'en-US': 'Some charts are better, others worse.', es: 'Unas gráficas están mejor, otras peor.' },
  'proof.others-moved-too': { 'en-US': 'Zones on which nothing was done moved the same way: something else changed.', es: 'Zonas en las que no se hizo nada se movieron igual: cambió otra cosa.' },
  'proof.set-point-changed': { 'en-US': 'A set-point was changed meanwhile.', es: 'Entretanto se cambió una consigna.' },
  'proof.exhaust-changed': { 'en-US': 'Work on the exhaust came between.', es: 'Entretanto hubo trabajo en la extracción.' },
  'proof.lot-changed': { 'en-US': 'Another lot came into use meanwhile.', es: 'Entretanto se empezó otro lote.' },
  'proof.sensor-replaced': { 'en-US': 'A sensor was replaced meanwhile.', es: 'Entretanto se cambió un sensor.' },
  'proof.no-values-before': { 'en-US': 'There are no values of the time before.', es: 'No hay valores de antes.' },
  'proof.no-like-with-like': { 'en-US': 'The line has not run the same recipe long enough before and after.', es: 'La línea no ha trabajado lo bastante con la misma receta antes y después.' },
  'proof.no-reference': { 'en-US': 'Nothing has changed, and there is no learned reference to say whether it was clean.', es: 'Nada ha cambiado, y no hay referencia aprendida para decir si estaba limpio.' },
  'proof.too-noisy': { 'en-US': 'The charts scatter too much to tell.', es: 'Las gráficas varían demasiado para decirlo.' },
  'proof.record-withdrawn': { 'en-US': 'The record was taken back.', es: 'El registro se retiró.' },
}

const TOO_EARLY: InLanguages<string> = { 'en-US': 'Verdict expected about {date}.', es: 'Veredicto esperado hacia el {date}.' }
const AND: InLanguages<string> = { 'en-US': ' and ', es: ' y ' }
const ZONE: InLanguages<string> = { 'en-US': 'zone', es: 'zona' }

/** Every reason that a proof can give: held complete by a test. */
export const PROOF_REASON_KEYS: readonly string[] = Object.keys(REASONS)

/** The verdict in a few words. */
export function proofVerdictWords(verdict: ProofVerdict, language: Language): string {
  return VERDICTS[verdict][language]
}

/** Why, in whole sentences; the date of a verdict that is still to come among them. */
export function proofReasonWords(fact: Pick<ProofFact, 'because' | 'with' | 'verdictByMs' | 'zone'>, language: Language, timeZone: string, site?: Parameters<typeof workTitle>[2]): readonly string[] {
  const others = (fact.with ?? []).map(({ work, zone }) => `“${workTitle(work, language, site)}”${zone === undefined || zone === fact.zone ? '' : ` (${ZONE[language]} ${zone})`}`)
  const sentences = fact.because.map((key) => {
    const sentence = REASONS[key]?.[language]
    if (sentence === undefined) throw new Error(`proof: no words for the reason "${key}" in ${language}`)
    return fill(sentence, { others: listText(others, AND[language]) })
  })
  return fact.verdictByMs === undefined ? sentences : [...sentences, fill(TOO_EARLY[language], { date: dateText(fact.verdictByMs, language, timeZone) })]
}

const PROVISIONAL: InLanguages<string> = { 'en-US': 'Provisional. Missing for a full service: {jobs}.', es: 'Provisional. Faltan para un servicio completo: {jobs}.' }
const NEW_REFERENCE: InLanguages<string> = { 'en-US': 'A full service is recorded since this was learned: a new reference is offered for {count} charts.', es: 'Consta un servicio completo desde que se aprendió: se ofrece una nueva referencia para {count} gráficas.' }

/** What a section's reference is worth; empty where there is nothing to say. */
export function referenceWords({ provisional, missing, offers }: Pick<ReferenceFact, 'provisional' | 'missing' | 'offers'>, language: Language): string {
  if (provisional) return fill(PROVISIONAL[language], { jobs: listText(missing.map((work) => workTitle(work, language)), AND[language]) })
  return offers.length === 0 ? '' : fill(NEW_REFERENCE[language], { count: String(offers.length) })
}

/** A feature's name for a table of what was compared; its id where it has none. */
export function comparedTitle(feature: string, language: Language): string {
  const { pattern, zone, defectKind } = featureParts(feature)
  const name = Object.hasOwn(FEATURE_WORDS, pattern) ? FEATURE_WORDS[pattern]?.words[language].name : undefined
  return name === undefined ? feature : fill(name, { zone: String(zone ?? ''), kind: defectKind ?? '' })
}
