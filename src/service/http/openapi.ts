import { z } from 'zod'
import { problemSchema } from './api-schemas.js'
import type { Route } from './route-forms.js'
import { ROUTES } from './routes.js'

/** OpenAPI 3.1 document of the API, made from the same schemas that check it. */
export function openApiDocument(version: string): Record<string, unknown> {
  const paths: Record<string, Record<string, unknown>> = {}
  for (const route of ROUTES) {
    const path = `/${route.path.replaceAll(/:([a-z]+)/g, '{$1}')}`
    paths[path] = { ...paths[path], [route.method.toLowerCase()]: operation(route) }
  }
  paths['/api/events'] = {
    get: {
      summary: 'Live outputs as server-sent events: state, point, rule-hit, rule-end, signal, baseline, suggestion, fact, insight, rejected; with Last-Event-ID what came since, or "missed" where that is no longer known',
      parameters: [{ name: 'line', in: 'query', required: false, schema: { type: 'string' } }],
      responses: { 200: { description: 'The stream', content: { 'text/event-stream': { schema: { type: 'string' } } } } },
    },
  }
  return {
    openapi: '3.1.0',
    info: { title: 'wave-solder-spc', version, description: 'Control charts, likely fouled sections and maintenance suggestions of wave-soldering lines. Advice only: nothing here reaches a machine. Times are ISO 8601 UTC.' },
    servers: [{ url: '/wave-solder' }],
    paths,
    components: { schemas: { Problem: jsonSchema(problemSchema, 'output') } },
  }
}

function operation(route: Route): Record<string, unknown> {
  const inPath = [...route.path.matchAll(/:([a-z]+)/g)].map(([, name]) => ({ name, in: 'path', required: true, schema: { type: 'string' } }))
  const problem = { description: 'Problem details (RFC 9457)', content: { 'application/problem+json': { schema: { $ref: '#/components/schemas/Problem' } } } }
  return {
    summary: route.summary,
    parameters: [...inPath, ...queryParameters(route.query)],
    ...(route.upload === undefined ? {} : { requestBody: { required: true, content: { 'application/octet-stream': { schema: { type: 'string', format: 'binary' } } } } }),
    ...(route.body === undefined ? {} : { requestBody: { required: true, content: { 'application/json': { schema: jsonSchema(route.body, 'input') } } } }),
    responses: {
      [route.answerStatus]: { description: route.answerStatus === 202 ? 'Committed' : 'The answer', content: { [(route.contentType ?? 'application/json').split(';')[0]!]: { schema: jsonSchema(route.answer, 'output') } } },
      ...Object.fromEntries(route.problems.map((status) => [status, problem])),
    },
  }
}

function queryParameters(query: z.ZodObject | undefined): Record<string, unknown>[] {
  if (query === undefined) return []
  const { properties = {}, required = [] } = jsonSchema(query, 'input') as { properties?: Record<string, unknown>; required?: string[] }
  return Object.entries(properties).map(([name, schema]) => ({ name, in: 'query', required: required.includes(name), schema }))
}

function jsonSchema(schema: z.ZodType, io: 'input' | 'output'): Record<string, unknown> {
  const { $schema: _dialect, ...rest } = z.toJSONSchema(schema, { io, unrepresentable: 'any' }) as Record<string, unknown>
  return rest
}
