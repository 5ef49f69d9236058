import { parseDefinitionText, readDefinitionFile } from '../definition-file.js'
import type { LinePortOptions } from '../line-port.js'
import { brokerUrlFault } from '../broker-url.js'
import { textOf } from './config-text.js'

/** What the editor saves of a `solder-line` node, and its credentials. */
export function parseSolderLineConfig(
  def: { readonly source?: unknown; readonly definition?: unknown; readonly file?: unknown; readonly broker?: unknown },
  credentials: { readonly user?: string; readonly password?: string },
): Pick<LinePortOptions, 'definition' | 'broker'> {
  const url = textOf(def.broker)
  // The `start` command gives broker and user by the environment, so that no secret stands in a file.
  const given = url !== '' && url === process.env['WAVE_SPC_BROKER'] ? { user: process.env['WAVE_SPC_BROKER_USER'], password: process.env['WAVE_SPC_BROKER_PASSWORD'] } : {}
  const user = credentials.user || given.user
  const password = credentials.password || given.password
  const broker = url === '' ? undefined : { url, ...(user === undefined || user === '' ? {} : { user }), ...(password === undefined || password === '' ? {} : { password }) }
  try {
    const fault = url === '' ? undefined : brokerUrlFault(url)
    if (fault !== undefined) throw new Error(fault.endsWith('a user') ? `${fault}; put user and password into the fields for them, which are stored encrypted` : fault)
    const definition = textOf(def.source) === 'file' ? readDefinitionFile(textOf(def.file)) : parseDefinitionText(textOf(def.definition), 'the definition')
    return { definition: { kind: 'definition', definition }, broker }
  } catch (error) {
    return { definition: { kind: 'faulty', message: error instanceof Error ? error.message : String(error) }, broker }
  }
}
