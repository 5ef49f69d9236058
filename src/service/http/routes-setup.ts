import { z } from 'zod'
import { CHANNEL_KINDS } from '../../line/channels.js'
import { lineDefinitionJsonSchema, type LineDefinition } from '../../line/line-definition.js'
import { writtenUnitsFor } from '../../line/units.js'
import type { Language } from '../../maintenance/catalogue-language.js'
import { channelTitle } from '../../maintenance/wording.js'
import { watchTopics } from '../../adapters/mqtt/topic-watch.js'
import { brokerUrlFault } from '../broker-url.js'
import { checkDefinition } from '../definition-file.js'
import { lineMaker, untilThere, type LineMaker } from '../line-maker.js'
import { ProblemError } from './problem.js'
import { get, languageQuery, lineOf, post, requireRole, takenSchema, type Route, type RouteRequest } from './route-forms.js'

const channelSchema = z.strictObject({
  pattern: z.string().describe('Channel id; <n> stands for a zone number, <kind> and <name> for a word of the site'),
  title: z.string(),
  section: z.string(),
  unit: z.string(),
  units: z.array(z.string()).describe('Units a source may use'),
  minimum: z.boolean(),
  text: z.boolean(),
})

const brokerUrl = z.string().max(500).superRefine((url, context) => {
  const fault = brokerUrlFault(url)
  if (fault !== undefined) context.addIssue({ code: 'custom', message: fault })
})

const brokerSchema = z.strictObject({
  broker: brokerUrl,
  user: z.string().max(200).optional().describe('Used for this look only and kept nowhere'),
  password: z.string().max(200).optional(),
  seconds: z.number().min(0.5).max(20).default(5),
})

const topicSchema = z.strictObject({ topic: z.string(), payload: z.string(), count: z.int(), retained: z.boolean() })
const setupSchema = z.strictObject({
  makesLines: z.boolean().describe('Whether lines can be made here; else in the flow editor'),
  broker: z.string().optional().describe('Broker a new line is offered'),
  hasDemo: z.boolean(),
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
    const result = checkDefinition(body)
    return Promise.resolve(result.kind === 'faults' ? { faults: result.faults } : { faults: [], definition: result.definition })
  }),
  get('api/setup', 'What can be set up here', setupSchema, () => {
    const maker = lineMaker()
    return { makesLines: maker !== undefined, hasDemo: maker?.hasDemo ?? false, ...(maker === undefined ? {} : { broker: maker.broker }) }
  }),
  post('api/broker-topics', 'Listen to a broker for a while: topics with their last payload', brokerSchema, z.strictObject({ topics: z.array(topicSchema) }), [422], async (request) => {
    requireRole(request.access, 'engineer')
    const { broker, user, password, seconds } = request.body as z.output<typeof brokerSchema>
    try {
      return { topics: await watchTopics({ url: broker, ...(user === undefined ? {} : { user }), ...(password === undefined ? {} : { password }) }, seconds * 1000) }
    } catch (error) {
      throw new ProblemError(422, 'Unprocessable Content', `the broker could not be listened to: ${error instanceof Error ? error.message : String(error)}`)
    }
  }),
  post('api/lines', 'Make a line', z.strictObject({ definition: z.looseObject({}), broker: brokerUrl }), z.strictObject({ line: z.string() }), [409, 422], async (request) => {
    requireRole(request.access, 'engineer')
    const { definition, broker } = request.body as { definition: unknown; broker: string }
    const checked = checkedDefinition(definition)
    if (request.site.line(checked.line) !== undefined) throw new ProblemError(409, 'Conflict', `line "${checked.line}" is there already`)
    await orConflict(makerOf().addLine(checked, broker))
    if (!(await untilThere(() => request.site.line(checked.line) !== undefined))) throw new ProblemError(409, 'Conflict', `line "${checked.line}" has been made and has not started yet; its node in the flow editor and the log say why`)
    return { line: checked.line }
  }),
  post('api/lines/:line/definition', 'Change the definition of a line that was made here', z.looseObject({}), takenSchema, [404, 409, 422], async (request) => {
    requireRole(request.access, 'engineer')
    const line = lineOf(request)
    const definition = checkedDefinition(request.body)
    if (definition.line !== line.definition.line) throw new ProblemError(422, 'Unprocessable Content', `the id of a line never changes: expected "${line.definition.line}", found "${definition.line}"`)
    const maker = makerOf()
    if (!maker.owns(definition.line)) throw new ProblemError(409, 'Conflict', 'this line has its definition from the flow editor or a file; change it there')
    maker.keepDefinition(definition)
    return { line: definition.line, seq: (await line.submit({ kind: 'definition', definition })).seq }
  }),
  post('api/demo', 'Start the demonstration', z.strictObject({}), z.strictObject({ started: z.literal(true) }), [409], async (request: RouteRequest) => {
    requireRole(request.access, 'engineer')
    await orConflict(makerOf().addDemo())
    return { started: true }
  }),
]

function makerOf(): LineMaker {
  const maker = lineMaker()
  if (maker === undefined) throw new ProblemError(409, 'Conflict', 'lines of this Node-RED are made in its editor: add a solder-line node and paste the definition')
  return maker
}

function checkedDefinition(input: unknown): LineDefinition {
  const result = checkDefinition(input)
  if (result.kind === 'faults') throw new ProblemError(422, 'Unprocessable Content', 'the definition has faults', result.faults.map(({ path, message }) => ({ path, message })))
  return result.definition
}

async function orConflict(work: Promise<void>): Promise<void> {
  try {
    await work
  } catch (error) {
    throw new ProblemError(409, 'Conflict', error instanceof Error ? error.message : String(error))
  }
}
