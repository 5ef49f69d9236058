import { parseDefinitionText, readDefinitionFile } from '../definition-file.js'
import type { LinePortOptions } from '../line-port.js'
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
    if (url !== '' && !/^(mqtts?|wss?|tcp|ssl):\/\/.+/.test(url)) throw new Error(`broker "${url}": expected a URL such as mqtt://host:1883`)
    if (/^[a-z]+:\/\/[^/]*@/.test(url)) throw new Error('broker: the URL holds a user; put user and password into the fields for them, which are stored encrypted')
    const definition = textOf(def.source) === 'file' ? readDefinitionFile(textOf(def.file)) : parseDefinitionText(textOf(def.definition), 'the definition')
    return { definition: { kind: 'definition', definition }, broker }
  } catch (error) {
    return { definition: { kind: 'faulty', message: error instanceof Error ? error.message : String(error) }, broker }
  }
}
