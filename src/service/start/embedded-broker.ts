import { createServer, type Server, type Socket } from 'node:net'
import { optionalPackage } from './optional-package.js'

/** Broker of the demonstration: this computer only, in memory. A real line uses a real broker. */
export class EmbeddedBroker {
  private constructor(
    private readonly server: Server,
    private readonly sockets: ReadonlySet<Socket>,
    private readonly closeBroker: () => Promise<void>,
  ) {}

  /** @throws Error with one clear line if the port is taken */
  static async start(port: number): Promise<EmbeddedBroker> {
    const { Aedes } = await optionalPackage(() => import('aedes'), 'aedes@1')
    const broker = await Aedes.createBroker({ id: 'wave-solder-demo' })
    const sockets = new Set<Socket>()
    const server = createServer((socket) => {
      sockets.add(socket)
      socket.once('close', () => sockets.delete(socket))
      broker.handle(socket)
    })
    try {
      await listen(server, port, '127.0.0.1', '--mqtt-port or WAVE_SPC_MQTT_PORT')
    } catch (error) {
      await new Promise<void>((resolve) => broker.close(() => resolve()))
      throw error
    }
    return new EmbeddedBroker(server, sockets, () => new Promise((resolve) => broker.close(() => resolve())))
  }

  async stop(): Promise<void> {
    await this.closeBroker()
    for (const socket of this.sockets) socket.destroy()
    await new Promise<void>((resolve) => this.server.close(() => resolve()))
  }
}

/** @throws Error that names the port and the option to choose another */
export async function listen(server: Server, port: number, host: string, option: string): Promise<void> {
  await new Promise<void>((resolve, reject) => {
    server.once('error', (error: NodeJS.ErrnoException) => {
      if (error.code === 'EADDRINUSE') reject(new Error(`port ${port} is taken by another program: stop it, or choose another port with ${option}`))
      else if (error.code === 'EACCES') reject(new Error(`port ${port} may not be used by this user: choose one above 1023 with ${option}`))
      else reject(new Error(`cannot listen on ${host}:${port}: ${error.message}`))
    })
    server.listen(port, host, () => {
      server.removeAllListeners('error')
      resolve()
    })
  })
}
