import { spawn, type ChildProcess } from 'node:child_process'
import { once } from 'node:events'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { createConnection, createServer, type Server, type Socket } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { Aedes } from 'aedes'

/** A broker a test starts for itself. */
export interface TestBroker {
  readonly url: string
  readonly port: number
  /** Highest protocol version it speaks. */
  readonly protocolVersion: 4 | 5
  stop(): Promise<void>
}

/** A port nobody listens on now. */
export async function freePort(): Promise<number> {
  const server = createServer()
  server.listen(0, '127.0.0.1')
  await once(server, 'listening')
  const address = server.address()
  const port = typeof address === 'object' && address !== null ? address.port : 0
  await new Promise((resolve) => server.close(resolve))
  return port
}

/** Resolves when something accepts connections on the port. */
export async function listensOn(port: number, isAlive: () => boolean): Promise<void> {
  for (;;) {
    const connected = await new Promise<boolean>((resolve) => {
      const socket = createConnection({ port, host: '127.0.0.1' })
      socket.once('connect', () => {
        socket.destroy()
        resolve(true)
      })
      socket.once('error', () => resolve(false))
    })
    if (connected) return
    if (!isAlive()) throw new Error(`nothing listens on port ${port}, and its process has ended`)
    await new Promise((resolve) => setImmediate(resolve))
  }
}

/** The Debian package's broker with MQTT 5; `settings` are further lines of its configuration. */
export async function startMosquitto(settings: readonly string[] = [], port?: number): Promise<TestBroker> {
  const folder = mkdtempSync(join(tmpdir(), 'mosquitto-'))
  const chosenPort = port ?? (await freePort())
  const configuration = ['listener ' + chosenPort + ' 127.0.0.1', 'allow_anonymous true', 'persistence false', ...(process.getuid?.() === 0 ? ['user root'] : []), ...settings]
  writeFileSync(join(folder, 'mosquitto.conf'), configuration.join('\n') + '\n')
  const child: ChildProcess = spawn('/usr/sbin/mosquitto', ['-c', join(folder, 'mosquitto.conf')], { stdio: 'ignore' })
  const ended = once(child, 'exit')
  await listensOn(chosenPort, () => child.exitCode === null)
  return {
    url: `mqtt://127.0.0.1:${chosenPort}`,
    port: chosenPort,
    protocolVersion: 5,
    stop: async () => {
      child.kill('SIGTERM')
      await ended
      rmSync(folder, { recursive: true, force: true })
    },
  }
}

/** A broker in the test's own process, with MQTT 3.1.1 only. */
export async function startAedes(port?: number): Promise<TestBroker> {
  const broker = await Aedes.createBroker()
  const server: Server = createServer(broker.handle)
  const sockets = new Set<Socket>()
  server.on('connection', (socket) => {
    sockets.add(socket)
    socket.on('close', () => sockets.delete(socket))
  })
  server.listen(port ?? 0, '127.0.0.1')
  await once(server, 'listening')
  const address = server.address()
  const chosenPort = typeof address === 'object' && address !== null ? address.port : 0
  return {
    url: `mqtt://127.0.0.1:${chosenPort}`,
    port: chosenPort,
    protocolVersion: 4,
    stop: async () => {
      for (const socket of sockets) socket.destroy()
      await new Promise((resolve) => server.close(resolve))
      await new Promise<void>((resolve) => broker.close(() => resolve()))
    },
  }
}
