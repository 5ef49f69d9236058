import { createServer, type AddressInfo, type Server, type Socket } from 'node:net'
import { afterEach, describe, expect, it } from 'vitest'
import { watchTopics } from '../../src/adapters/mqtt/topic-watch.js'

const CONNACK = Buffer.from([0x20, 0x02, 0x00, 0x00])
let server: Server | undefined
const sockets: Socket[] = []

afterEach(async () => {
  for (const socket of sockets.splice(0)) socket.destroy()
  await new Promise((resolve) => (server === undefined ? resolve(undefined) : server.close(resolve)))
})

/** Something that speaks the beginning of the protocol and then does as it likes. */
async function strangeBroker(answer: (socket: Socket, packetCount: number) => void): Promise<string> {
  server = createServer((socket) => {
    sockets.push(socket)
    let count = 0
    socket.on('error', () => undefined)
    socket.on('data', () => answer(socket, (count += 1)))
  })
  await new Promise<void>((resolve) => server!.listen(0, '127.0.0.1', resolve))
  return `mqtt://127.0.0.1:${(server.address() as AddressInfo).port}`
}

describe('a look at a broker', () => {
  it('ends with a reason where the broker never answers the subscription', async () => {
    const url = await strangeBroker((socket, count) => void (count === 1 && socket.write(CONNACK)))
    await expect(watchTopics({ url }, 50)).rejects.toThrow('did not answer the subscription')
  })

  it('ends with a reason where the broker hangs up', async () => {
    const url = await strangeBroker((socket, count) => void (count === 1 ? socket.write(CONNACK) : socket.destroy()))
    await expect(watchTopics({ url }, 10_000)).rejects.toThrow(/closed/i)
  })

  it('ends with a reason where the broker sends what is no packet', async () => {
    const url = await strangeBroker((socket, count) => void (count === 1 ? socket.write(CONNACK) : socket.write(Buffer.from([0xf7, 0xff, 0xff, 0xff, 0xff, 0xff]))))
    await expect(watchTopics({ url }, 10_000)).rejects.toThrow()
  })
})
