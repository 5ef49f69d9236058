import { readFileSync } from 'node:fs'
import { dirname, resolve } from 'node:path'
import { parseArgs } from 'node:util'
import { DEFECT_KINDS, defectKindOf } from '../line/diagnosis/symptom-map.js'
import { invisibleFaults } from '../line/diagnosis/visibility.js'
import { featureCatalogue, featureRefusals } from '../line/features/feature-catalogue.js'
import { lineDefinitionJsonSchema, type LineDefinition } from '../line/line-definition.js'
import { compileBinding } from '../line/telemetry/channel-binding.js'
import { invisibleText } from '../maintenance/wording.js'
import { channelList } from './channel-list.js'
import { checkDefinition, requireFile, UsageError } from './definition-file.js'
import { parseJsonText } from './json-text.js'

export const CHECK_HELP = `wave-solder-spc check <line.json>
wave-solder-spc check --channels
wave-solder-spc check --schema

Checks a line definition and prints every fault with its path; exit code 1 if there is one. Of a good one it tells what
the line will be charted on and what nothing on it can see.

  --channels prints the channels a line can have: units, how they arrive, what they carry
  --schema   prints the JSON Schema of a line definition, for editors and other tools
`

type Print = (text: string) => void

/** Runs the command. @returns exit code: 0 good, 1 faults */
export async function runCheck(args: readonly string[], print: Print = (text) => void process.stdout.write(text)): Promise<number> {
  const { values, positionals } = parseArgs({ args: [...args], allowPositionals: true, options: { channels: { type: 'boolean' }, schema: { type: 'boolean' }, help: { type: 'boolean' } } })
  if (values.help === true) {
    print(CHECK_HELP)
    return 0
  }
  if (values.channels === true) {
    print(channelList())
    return 0
  }
  if (values.schema === true) {
    print(`${JSON.stringify(lineDefinitionJsonSchema(), null, 2)}\n`)
    return 0
  }
  const [path, ...more] = positionals
  if (path === undefined || more.length > 0) throw new UsageError('check needs one file: check <line.json>')
  requireFile(path)
  const read = parseJsonText(readFileSync(path, 'utf8'))
  if (read.kind === 'fault') {
    print(`line ${read.fault.line}, column ${read.fault.column}: not JSON: ${read.fault.message}\n`)
    return 1
  }
  const result = checkDefinition(read.value, dirname(resolve(path)))
  if (result.kind === 'faults') {
    for (const fault of result.faults) print(`${fault.path === '' ? '(whole)' : fault.path}: ${fault.message}\n`)
    return 1
  }
  print(describe(result.definition))
  return 0
}

function describe(definition: LineDefinition): string {
  const features = featureCatalogue(definition)
  const refusals = featureRefusals(definition)
  const lines = [
    `line "${definition.line}" is well described.`,
    `Subscribes: ${compileBinding(definition).filters.join(', ')}`,
    `Charts ${features.length} features${definition.channels.length === 0 ? ', if every channel of the list comes' : ''}:`,
    ...features.map((feature) => `  ${feature.feature} (${feature.title}; ${feature.unit})`),
    ...(refusals.length === 0 ? [] : ['Cannot have:', ...refusals.map(({ feature, reason }) => `  ${feature}: ${reason}`)]),
    ...undiagnosedDefects(definition),
    invisibleText(invisibleFaults(definition), 'en-US'),
  ]
  return `${lines.join('\n')}\n`
}

function undiagnosedDefects({ channels }: LineDefinition): string[] {
  const words = channels.flatMap(({ channel }) => /^board\.defects\.(.+)$/.exec(channel)?.[1] ?? []).filter((word) => defectKindOf(word) === 'other')
  if (words.length === 0) return []
  return [`Charted, but hardly a cause is told apart by defects called ${words.join(', ')}; the diagnosis knows ${DEFECT_KINDS.map(([kind]) => kind).join(', ')}.`]
}
