import Database from 'libsql'

export type BoundValue = null | number | bigint | string | Buffer
export type Row = readonly unknown[]

/**
 * A statement that checks what is bound to it.
 *
 * The driver ends the whole process on a bound boolean or a lone Buffer, stores NaN and missing values as NULL and cuts
 * texts at a zero character without a word; so every value passes here, always as one array of the right length.
 */
export class CheckedStatement {
  readonly #statement: RawStatement
  readonly #sql: string
  readonly #parameterCount: number

  constructor(statement: RawStatement, sql: string) {
    this.#statement = statement
    this.#sql = sql
    this.#parameterCount = countParameters(sql)
  }

  run(values: readonly BoundValue[]): { readonly changes: number; readonly rowId: number } {
    const result = this.#statement.run(this.#checked(values))
    return { changes: result.changes, rowId: Number(result.lastInsertRowid) }
  }

  /** Rows as arrays in the order of the selected columns. */
  all(values: readonly BoundValue[]): readonly Row[] {
    return this.#statement.all(this.#checked(values))
  }

  get(values: readonly BoundValue[]): Row | undefined {
    return this.#statement.get(this.#checked(values)) ?? undefined
  }

  #checked(values: readonly BoundValue[]): BoundValue[] {
    if (!Array.isArray(values)) throw new Error(`values for "${this.#sql}": expected one array, found ${describe(values)}`)
    if (values.length !== this.#parameterCount) {
      throw new Error(`values for "${this.#sql}": expected ${this.#parameterCount}, found ${values.length}`)
    }
    for (let index = 0; index < values.length; index += 1) {
      const value: unknown = values[index]
      if (typeof value === 'string') {
        if (value.includes('\u0000')) throw new Error(`value ${index + 1} for "${this.#sql}": expected a text without zero characters, found one at ${value.indexOf('\u0000')}`)
        continue
      }
      if (typeof value === 'bigint' || value === null || Buffer.isBuffer(value)) continue
      if (typeof value === 'number' && Number.isFinite(value)) continue
      throw new Error(`value ${index + 1} for "${this.#sql}": expected null, a finite number, a bigint, a string or a Buffer, found ${describe(value)}`)
    }
    return values as BoundValue[]
  }
}

interface RawStatement {
  run(values: BoundValue[]): { readonly changes: number; readonly lastInsertRowid: number | bigint }
  all(values: BoundValue[]): Row[]
  get(values: BoundValue[]): Row | undefined
}

/** A SQLite file opened with write-ahead log and full synchronisation; values reach it only through checked statements. */
export class CheckedDatabase {
  readonly #database: InstanceType<typeof Database>
  readonly #statements = new Map<string, CheckedStatement>()

  /**
   * @param file path of the database file, made where it is missing
   * @throws Error that names the file if it cannot be opened or is no database
   */
  constructor(file: string) {
    try {
      this.#database = new Database(file)
      const mode = this.#database.prepare('PRAGMA journal_mode = WAL').raw().all([]) as unknown as Row[]
      if (mode[0]?.[0] !== 'wal') throw new Error(`no write-ahead log on this file system (journal mode ${String(mode[0]?.[0])})`)
      this.#database.exec('PRAGMA synchronous = FULL')
      this.#database.exec('PRAGMA foreign_keys = OFF')
      // What is removed or replaced is overwritten: names of people must not stay readable in pages that are free.
      this.#database.exec('PRAGMA secure_delete = ON')
    } catch (error) {
      throw new Error(`the store file ${file} cannot be opened: ${messageOf(error)}`, { cause: error })
    }
  }

  statement(sql: string): CheckedStatement {
    let statement = this.#statements.get(sql)
    if (statement === undefined) {
      const raw = this.#database.prepare(sql)
      // Raw mode exists only for statements that give rows.
      if (/^\s*(select|pragma)/i.test(sql)) raw.raw()
      statement = new CheckedStatement(raw as unknown as RawStatement, sql)
      this.#statements.set(sql, statement)
    }
    return statement
  }

  /** Runs fixed SQL without values. */
  execute(sql: string): void {
    this.#database.exec(sql)
  }

  /** Runs `work` in one transaction: all of it is durable on return, or nothing happened. */
  transaction<T>(work: () => T): T {
    this.#database.exec('BEGIN IMMEDIATE')
    try {
      const result = work()
      this.#database.exec('COMMIT')
      return result
    } catch (error) {
      // A full disk has already rolled back by itself.
      if (this.#database.inTransaction) this.#database.exec('ROLLBACK')
      throw error
    }
  }

  close(): void {
    this.#statements.clear()
    // The driver keeps the file open until its statements are collected, so the log is emptied into the file here.
    try {
      this.#database.exec('PRAGMA wal_checkpoint(TRUNCATE)')
    } catch {
      // The log stays and is read at the next start.
    }
    this.#database.close()
  }
}

function countParameters(sql: string): number {
  return sql.split('?').length - 1
}

function describe(value: unknown): string {
  if (value === null) return 'null'
  if (typeof value === 'object') return `an object (${value.constructor?.name ?? 'no prototype'})`
  return `${typeof value} ${String(value)}`
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error)
}
