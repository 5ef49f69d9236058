/** What is wrong with the URL of a broker; undefined if nothing is. The text never repeats a password. */
export function brokerUrlFault(url: string): string | undefined {
  if (/^[a-z]+:\/\/[^/]*@/i.test(url)) return 'the URL of the broker holds a user'
  if (!/^(mqtts?|wss?|tcp|ssl):\/\/.+/.test(url)) return `broker "${url}": expected a URL such as mqtt://host:1883`
  return undefined
}
