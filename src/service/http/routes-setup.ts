import { z } from 'zod'
import { CHANNEL_KINDS } from '../../line/channels.js'
import { lineDefinitionJsonSchema, parseLineDefinition } from '../../line/line-definition.js'
import { writtenUnitsFor } from '../../line/units.js'
import type { Language } from '../../maintenance/catalogue-language.js'
import { channelTitle } from '../../maintenance/wording.js'
import { get, languageQuery, post, type Route } from './route-forms.js'

const channelSchema = z.strictObject({
  pattern: z.string().describe('Channel id; <n> stands for a zone number, <kind> and <name> for a word of the site'),
  title: z.string(),
  section: z.string(),
  unit: z.string(),
  units: z.array(z.string()).describe('Units a source may use'),
  minimum: z.boolean(),
  text: z.boolean(),
})

/** What is needed to describe a line or a file: the channels there are, and a check of a definition before it is used. */
export const SETUP_ROUTES: readonly Route[] = [
  get('api/channels', 'Channels a line can have', z.strictObject({ channels: z.array(channelSchema) }), ({ query }) => ({
    channels: CHANNEL_KINDS.map(({ pattern, section, unit, unitsAsIs, minimum, valueType }) => ({
      pattern,
      title: channelTitle(pattern, query['lang'] as Language),
      section,
      unit,
      units: unit === 'none' ? [] : [...new Set([...writtenUnitsFor(unit), ...unitsAsIs])],
      minimum,
      text: valueType === 'text',
    })),
  }), languageQuery),
  get('api/definition-schema', 'JSON Schema of a line definition', z.looseObject({}), () => lineDefinitionJsonSchema()),
  post('api/definition-check', 'Check a line definition', z.looseObject({}), z.strictObject({ faults: z.array(z.strictObject({ path: z.string(), message: z.string() })), definition: z.looseObject({}).optional() }), [], ({ body }) => {
    const result = parseLineDefinition(body)
    return Promise.resolve(result.kind === 'faults' ? { faults: result.faults } : { faults: [], definition: result.definition })
  }),
]
