/** Photos that wait on this device for the service; they are too big for where entries wait. */

const DATABASE = 'wave-solder-photos'
const STORE = 'photos'

export interface ShelvedPhoto {
  /** Where it is to be sent, below the API. */
  readonly path: string
  readonly picture: Blob
}

/** Keeps a photo. @throws DOMException where the device has no room for it */
export async function shelve(key: string, photo: ShelvedPhoto): Promise<void> {
  await onShelf('readwrite', (store) => store.put(photo, key))
}

/** undefined where the device no longer has it. */
export async function shelved(key: string): Promise<ShelvedPhoto | undefined> {
  return (await onShelf('readonly', (store) => store.get(key))) as ShelvedPhoto | undefined
}

export async function unshelve(key: string): Promise<void> {
  await onShelf('readwrite', (store) => store.delete(key))
}

async function onShelf(mode: IDBTransactionMode, act: (store: IDBObjectStore) => IDBRequest): Promise<unknown> {
  const database = await opened()
  try {
    return await new Promise((resolve, reject) => {
      const transaction = database.transaction(STORE, mode)
      const request = act(transaction.objectStore(STORE))
      // Written for good when the transaction is through, not when it was asked for.
      transaction.oncomplete = () => resolve(request.result)
      transaction.onabort = () => reject(transaction.error ?? new Error('the photo could not be kept on this device'))
    })
  } finally {
    database.close()
  }
}

function opened(): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(DATABASE, 1)
    request.onupgradeneeded = () => request.result.createObjectStore(STORE)
    request.onsuccess = () => resolve(request.result)
    request.onerror = () => reject(request.error ?? new Error('this device keeps no photos'))
  })
}
