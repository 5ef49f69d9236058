import type { CheckedDatabase } from './checked-database.js'

/** Version of the tables below. One of version 1 is brought to it; any other is refused, never changed by guess. */
export const SCHEMA_VERSION = 2

const TABLES = `
CREATE TABLE line (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE,
  archived_ms INTEGER,
  last_seq INTEGER NOT NULL DEFAULT 0,
  processed_seq INTEGER NOT NULL DEFAULT 0,
  pruned_seq INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE journal (
  line_id INTEGER NOT NULL,
  first_seq INTEGER NOT NULL,
  last_seq INTEGER NOT NULL,
  body BLOB NOT NULL,
  checksum BLOB NOT NULL,
  PRIMARY KEY (line_id, first_seq)
);
CREATE TABLE snapshot (
  line_id INTEGER NOT NULL,
  seq INTEGER NOT NULL,
  body BLOB NOT NULL,
  checksum BLOB NOT NULL,
  PRIMARY KEY (line_id, seq)
);
CREATE TABLE skipped (
  line_id INTEGER NOT NULL,
  seq INTEGER NOT NULL,
  message TEXT NOT NULL,
  PRIMARY KEY (line_id, seq)
) WITHOUT ROWID;
CREATE TABLE quarantine (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  line_id INTEGER NOT NULL,
  what TEXT NOT NULL,
  first_seq INTEGER NOT NULL,
  last_seq INTEGER NOT NULL,
  message TEXT NOT NULL,
  body BLOB,
  checksum BLOB,
  set_aside_ms INTEGER
);
CREATE TABLE term (id INTEGER PRIMARY KEY, text TEXT NOT NULL UNIQUE);
CREATE TABLE series (
  id INTEGER PRIMARY KEY,
  line_id INTEGER NOT NULL,
  feature INTEGER NOT NULL,
  chart INTEGER NOT NULL,
  UNIQUE (line_id, feature, chart)
);
CREATE TABLE limits (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  series_id INTEGER NOT NULL,
  centre REAL NOT NULL,
  lower REAL NOT NULL,
  upper REAL NOT NULL,
  sigma REAL NOT NULL,
  n REAL NOT NULL,
  recipe INTEGER NOT NULL,
  state INTEGER NOT NULL,
  baseline INTEGER NOT NULL
);
CREATE INDEX limits_of_series ON limits (series_id);
CREATE TABLE point (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  series_id INTEGER NOT NULL,
  time_ms INTEGER NOT NULL,
  seq INTEGER NOT NULL,
  ordinal INTEGER NOT NULL,
  value REAL NOT NULL,
  statistic REAL,
  limits_id INTEGER NOT NULL
);
CREATE UNIQUE INDEX point_by_time ON point (series_id, time_ms, seq, ordinal);
CREATE TABLE output (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  line_id INTEGER NOT NULL,
  seq INTEGER NOT NULL,
  ordinal INTEGER NOT NULL,
  kind TEXT NOT NULL,
  feature TEXT,
  time_ms INTEGER NOT NULL,
  body TEXT NOT NULL,
  UNIQUE (line_id, seq, ordinal)
);
CREATE INDEX output_by_time ON output (line_id, kind, time_ms);
CREATE TABLE rejection (
  line_id INTEGER NOT NULL,
  reason TEXT NOT NULL,
  count INTEGER NOT NULL,
  seq INTEGER NOT NULL,
  ordinal INTEGER NOT NULL,
  time_ms INTEGER NOT NULL,
  body TEXT NOT NULL,
  PRIMARY KEY (line_id, reason)
) WITHOUT ROWID;
CREATE TABLE outbox (
  number INTEGER PRIMARY KEY AUTOINCREMENT,
  id TEXT NOT NULL UNIQUE,
  line TEXT NOT NULL,
  destination TEXT NOT NULL,
  target TEXT NOT NULL,
  payload TEXT NOT NULL,
  retain INTEGER NOT NULL,
  created_ms INTEGER NOT NULL
);
CREATE INDEX outbox_by_lane ON outbox (destination, target, number);
CREATE TABLE node_state (key TEXT PRIMARY KEY, body TEXT NOT NULL) WITHOUT ROWID;
`

/** Where the newest version of each fact stands, so that a start does not read every version there ever was. */
const CURRENT_FACTS = `
CREATE TABLE current_fact (
  line_id INTEGER NOT NULL,
  type TEXT NOT NULL,
  id TEXT NOT NULL,
  output_id INTEGER NOT NULL,
  PRIMARY KEY (line_id, type, id)
) WITHOUT ROWID;
CREATE INDEX current_fact_by_age ON current_fact (line_id, type, output_id);
`

const FROM_VERSION_1 = `
ALTER TABLE quarantine ADD COLUMN set_aside_ms INTEGER;
INSERT INTO current_fact (line_id, type, id, output_id)
  SELECT line_id, json_extract(body, '$.type'), json_extract(body, '$.id'), max(id) FROM output
  WHERE kind = 'fact' AND json_valid(body) AND json_extract(body, '$.type') IS NOT NULL AND json_extract(body, '$.id') IS NOT NULL
  GROUP BY line_id, json_extract(body, '$.type'), json_extract(body, '$.id');
`

/**
 * Makes the tables in an empty file, brings those of version 1 to the present one, or checks the version.
 *
 * @throws Error if the file was written by another version
 */
export function prepareSchema(database: CheckedDatabase, file: string): void {
  const version = database.statement('PRAGMA user_version').get([])?.[0]
  if (version === SCHEMA_VERSION) return
  if (version !== 0 && version !== 1) throw new Error(`the store file ${file} has version ${String(version)}, this program reads version ${SCHEMA_VERSION}`)
  database.transaction(() => {
    if (version === 0) database.execute(TABLES)
    database.execute(CURRENT_FACTS)
    if (version === 1) database.execute(FROM_VERSION_1)
    database.execute(`PRAGMA user_version = ${SCHEMA_VERSION}`)
  })
}
