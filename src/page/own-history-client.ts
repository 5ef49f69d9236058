import type { SuggestionView } from './api-types.js'
import { ApiError, ask, at, post } from './api-client.js'

export interface HistoryState {
  readonly id: string
  readonly fileName: string
  readonly status: 'waiting-for-file' | 'receiving' | 'running' | 'done' | 'failed'
  readonly share: number
  readonly time?: string
  readonly message?: string
}

export interface FindingChart {
  readonly feature: string
  readonly chart: string
  readonly recipe: string
  readonly title: string
  readonly unit: string
  readonly points: readonly { readonly time: string; readonly value: number; readonly centre: number; readonly lower: number; readonly upper: number; readonly baseline: string }[]
}

export interface HistoryFindings {
  readonly from?: string
  readonly to?: string
  readonly readings: { readonly read: number; readonly taken: number; readonly rejectedByReason: Readonly<Record<string, number>> }
  readonly ignoredColumns: readonly string[]
  readonly stateHours: Readonly<Record<string, number>>
  readonly timeZone: string
  readonly textbook: { readonly episodes: number; readonly share: number; readonly byChannel: readonly { readonly channel: string; readonly episodes: number }[] }
  readonly baselinesLearned: number
  readonly baselines: number
  readonly found: readonly { readonly suggestion: SuggestionView; readonly charts: readonly FindingChart[] }[]
  readonly unseen: { readonly text: string; readonly causes: readonly { readonly cause: string; readonly title: string; readonly checks: readonly { readonly check: string; readonly title: string; readonly minutes: number }[] }[] }
}

export interface ChannelView {
  readonly pattern: string
  readonly title: string
  readonly section: string
  readonly unit: string
  readonly units: readonly string[]
  readonly minimum: boolean
  readonly text: boolean
}

export const historyApi = {
  list: async (): Promise<readonly HistoryState[]> => (await ask<{ histories: HistoryState[] }>('own-history')).histories,
  channels: async (language: string): Promise<readonly ChannelView[]> => (await ask<{ channels: ChannelView[] }>(`channels?lang=${at(language)}`)).channels,
  begin: async (request: Readonly<Record<string, unknown>>): Promise<HistoryState> => (await post('own-history', request)) as HistoryState,
  state: (id: string): Promise<HistoryState> => ask(`own-history/${at(id)}`),
  findings: (id: string, language: string): Promise<HistoryFindings> => ask(`own-history/${at(id)}/findings?lang=${at(language)}`),
  remove: (id: string): Promise<unknown> => ask(`own-history/${at(id)}`, { method: 'DELETE' }),
  /** Sends the file itself; fetch cannot tell how far an upload is. */
  send: (id: string, file: Blob, onShare: (share: number) => void): Promise<void> =>
    new Promise((resolve, reject) => {
      const request = new XMLHttpRequest()
      request.open('PUT', `./api/own-history/${at(id)}/file`)
      request.setRequestHeader('content-type', 'application/octet-stream')
      request.upload.addEventListener('progress', (event) => onShare(event.lengthComputable ? event.loaded / event.total : 0))
      request.addEventListener('load', () => {
        if (request.status < 300) resolve()
        else reject(new ApiError(request.status, detailOf(request.responseText)))
      })
      request.addEventListener('error', () => reject(new ApiError(0, 'the connection broke')))
      request.send(file)
    }),
}

function detailOf(text: string): string {
  try {
    return (JSON.parse(text) as { detail?: string }).detail ?? text
  } catch {
    return text.slice(0, 200)
  }
}
