/// <reference lib="webworker" />
// Keeps the page and its last answers, so that a panel without network still shows what was known.
const worker = self as unknown as ServiceWorkerGlobalScope
const CACHE = 'wave-solder-page'
const SHELL = ['./', './main.js', './main.css']

worker.addEventListener('install', (event) => {
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(SHELL)).then(() => worker.skipWaiting()))
})

worker.addEventListener('activate', (event) => event.waitUntil(worker.clients.claim()))

worker.addEventListener('fetch', (event) => {
  const { request } = event
  const { pathname } = new URL(request.url)
  // Live events and histories are worth nothing later, points would fill the device; what is sent is kept by the page itself.
  if (request.method !== 'GET' || /\/api\/(events|own-history|session|lines\/[^/]+\/(points|rule-hits|signals|states))/.test(pathname)) return
  event.respondWith(freshOrKept(request))
})

async function freshOrKept(request: Request): Promise<Response> {
  const cache = await caches.open(CACHE)
  try {
    const response = await fetch(request)
    if (response.ok) await cache.put(request, response.clone())
    return response
  } catch (error) {
    const kept = await cache.match(request)
    if (kept !== undefined) return kept
    throw error
  }
}
