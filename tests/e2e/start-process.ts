import { spawn, type ChildProcess } from 'node:child_process'
import { existsSync } from 'node:fs'
import { createServer, type AddressInfo } from 'node:net'

/** The built command line; another build can be named. */
export const START_COMMAND = process.env['WAVE_SPC_COMMAND_LINE'] ?? 'dist/src/service/command-line.js'

export interface StartedService {
  readonly child: ChildProcess
  readonly url: string
  readonly mqttUrl: string
  readonly output: () => string
  stop(): Promise<void>
}

/** Starts the service on free ports and waits until its page answers. */
export async function startService(args: readonly string[], env: Readonly<Record<string, string>> = {}): Promise<StartedService> {
  if (!existsSync(START_COMMAND)) throw new Error(`${START_COMMAND} is missing: run npm run build first`)
  const [port, mqttPort] = [await freePort(), await freePort()]
  const child = spawn(process.execPath, [START_COMMAND, 'start', '--port', String(port), '--mqtt-port', String(mqttPort), ...args], { stdio: ['ignore', 'pipe', 'pipe'], env: { ...process.env, WAVE_SPC_PORT: '', WAVE_SPC_MQTT_PORT: '', ...env } })
  let text = ''
  child.stdout?.on('data', (part: Buffer) => (text += part.toString()))
  child.stderr?.on('data', (part: Buffer) => (text += part.toString()))
  const ended = new Promise<void>((resolve) => child.once('exit', () => resolve()))
  const url = `http://127.0.0.1:${port}`
  for (;;) {
    if (child.exitCode !== null) throw new Error(`the service ended: ${text}`)
    const answered = await fetch(`${url}/wave-solder/api/lines`).then((response) => response.ok).catch(() => false)
    if (answered) break
    await new Promise((resolve) => setTimeout(resolve, 100))
  }
  return {
    child,
    url,
    mqttUrl: `mqtt://127.0.0.1:${mqttPort}`,
    output: () => text,
    async stop() {
      child.kill('SIGINT')
      await ended
    },
  }
}

async function freePort(): Promise<number> {
  const server = createServer()
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  const { port } = server.address() as AddressInfo
  await new Promise<void>((resolve) => server.close(() => resolve()))
  return port
}
