import type { SiteView } from '../site-view.js'
import type { EventStream } from './event-stream.js'

/** The service in the Prometheus text format. */
export function metricsText(site: SiteView | undefined, stream: EventStream): string {
  const lines = site?.lines() ?? []
  const outbox = site?.outboxStatus
  const history = site?.historyStatus
  const each = (value: (line: (typeof lines)[number]) => number): Sample[] => lines.map((line) => ({ labels: { line: line.definition.line }, value: value(line) }))
  const families: readonly Family[] = [
    { name: 'wave_solder_lines', help: 'Lines in this process', type: 'gauge', samples: [{ labels: {}, value: lines.length }] },
    { name: 'wave_solder_events_processed_total', help: 'Journal events stepped', type: 'counter', samples: each((line) => line.status().processedSeq) },
    { name: 'wave_solder_events_queued', help: 'Events accepted and not yet stepped', type: 'gauge', samples: each((line) => line.status().queued) },
    { name: 'wave_solder_line_paused', help: '1 while reading has paused', type: 'gauge', samples: each((line) => (line.status().paused === undefined ? 0 : 1)) },
    { name: 'wave_solder_suggestions_open', help: 'Suggestions open or taken', type: 'gauge', samples: each((line) => line.projection.openSuggestions().length) },
    { name: 'wave_solder_data_time_seconds', help: 'Time of the newest data by their own clock', type: 'gauge', samples: each((line) => (line.projection.dataMs ?? 0) / 1000) },
    {
      name: 'wave_solder_readings_rejected_total',
      help: 'Readings not taken, by reason',
      type: 'counter',
      samples: lines.flatMap((line) => Object.entries(line.projection.rejected().byReason).map(([reason, value]) => ({ labels: { line: line.definition.line, reason }, value }))),
    },
    { name: 'wave_solder_outbox_items', help: 'Messages waiting to leave, by target', type: 'gauge', samples: (outbox?.lanes ?? []).map(({ destination, target, count }) => ({ labels: { destination, target }, value: count })) },
    { name: 'wave_solder_outbox_delivered_total', help: 'Messages delivered', type: 'counter', samples: [{ labels: {}, value: outbox?.delivered ?? 0 }] },
    { name: 'wave_solder_outbox_given_up_total', help: 'Messages refused by the receiver or given up because too many waited', type: 'counter', samples: [{ labels: { why: 'refused' }, value: outbox?.refused ?? 0 }, { labels: { why: 'too-many' }, value: outbox?.dropped ?? 0 }] },
    { name: 'wave_solder_history_written_total', help: 'Rows copied to the InfluxDB', type: 'counter', samples: history === undefined ? [] : [{ labels: {}, value: history.written }] },
    { name: 'wave_solder_history_failing', help: '1 while the InfluxDB cannot be written', type: 'gauge', samples: history === undefined ? [] : [{ labels: {}, value: history.state === 'failing' ? 1 : 0 }] },
    { name: 'wave_solder_broker_connected', help: '1 while the broker connection stands', type: 'gauge', samples: (site?.brokers ?? []).map(({ broker, connected }) => ({ labels: { broker }, value: connected ? 1 : 0 })) },
    { name: 'wave_solder_stream_readers', help: 'Readers of the event stream', type: 'gauge', samples: [{ labels: {}, value: stream.clientCount }] },
    { name: 'wave_solder_stream_dropped_total', help: 'Readers let go because they were too slow', type: 'counter', samples: [{ labels: {}, value: stream.droppedCount }] },
    { name: 'process_resident_memory_bytes', help: 'Resident memory of the process', type: 'gauge', samples: [{ labels: {}, value: process.memoryUsage.rss() }] },
  ]
  return families.map(familyText).join('')
}

interface Sample {
  readonly labels: Readonly<Record<string, string>>
  readonly value: number
}

interface Family {
  readonly name: string
  readonly help: string
  readonly type: 'gauge' | 'counter'
  readonly samples: readonly Sample[]
}

function familyText({ name, help, type, samples }: Family): string {
  if (samples.length === 0) return ''
  const rows = samples.map(({ labels, value }) => {
    const pairs = Object.entries(labels).map(([key, text]) => `${key}="${text.replaceAll('\\', '\\\\').replaceAll('"', '\\"').replaceAll('\n', '\\n')}"`)
    return `${name}${pairs.length === 0 ? '' : `{${pairs.join(',')}}`} ${value}\n`
  })
  return `# HELP ${name} ${help}\n# TYPE ${name} ${type}\n${rows.join('')}`
}
