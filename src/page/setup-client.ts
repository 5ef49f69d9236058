import { ask, at, post } from './api-client.js'
import type { Draft, Fault } from './setup-draft.js'

export interface SetupFacts {
  readonly makesLines: boolean
  readonly broker?: string
  readonly hasDemo: boolean
}

export interface SeenTopic {
  readonly topic: string
  readonly payload: string
  readonly count: number
  readonly retained: boolean
}

export const setupApi = {
  facts: (): Promise<SetupFacts> => ask('setup'),
  check: async (draft: Draft): Promise<readonly Fault[]> => ((await post('definition-check', draft)) as { faults: Fault[] }).faults,
  topics: async (broker: string): Promise<readonly SeenTopic[]> => ((await post('broker-topics', { broker })) as { topics: SeenTopic[] }).topics,
  make: (definition: Draft, broker: string): Promise<unknown> => post('lines', { definition, broker }),
  change: (line: string, definition: Draft): Promise<unknown> => post(`lines/${at(line)}/definition`, definition),
  demo: (): Promise<unknown> => post('demo', {}),
  definition: async (line: string): Promise<Draft> => (await ask<{ definition: Draft }>(`lines/${at(line)}?lang=en-US`)).definition,
}
