import type { InfluxAccess } from '../adapters/influx/influx-history.js'

/**
 * The InfluxDB (1.x API) that gets a copy of the history, from the environment: `WAVE_SPC_INFLUX_URL`,
 * `WAVE_SPC_INFLUX_DATABASE`, and where it wants them `WAVE_SPC_INFLUX_USER` and `WAVE_SPC_INFLUX_PASSWORD`.
 */
export function influxAccessFrom(env: NodeJS.ProcessEnv): InfluxAccess | undefined {
  const { WAVE_SPC_INFLUX_URL: url = '', WAVE_SPC_INFLUX_DATABASE: database = 'wave_solder', WAVE_SPC_INFLUX_USER: username = '', WAVE_SPC_INFLUX_PASSWORD: password = '' } = env
  if (url === '') return undefined
  return { url, database, ...(username === '' ? {} : { username }), ...(password === '' ? {} : { password }) }
}
