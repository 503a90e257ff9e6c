// What this phone keeps: entries until the post has them, and a few values by name.
// An entry is on the disk before anything is sent and before its form is emptied.
const NAME = "worksheet-field";

/** @type {Promise<IDBDatabase> | undefined} */
let opened;

function open() {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore("entries", { keyPath: "n", autoIncrement: true });
      request.result.createObjectStore("values");
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  return opened;
}

/**
 * Run `work` on one store; resolves once the whole transaction is on the disk.
 * @template T
 * @param {string} store @param {IDBTransactionMode} mode
 * @param {(store: IDBObjectStore) => IDBRequest<T>} work
 * @returns {Promise<T>}
 */
async function within(store, mode, work) {
  const database = await open();
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(store, mode, { durability: "strict" });
    const request = work(transaction.objectStore(store));
    transaction.oncomplete = () => resolve(request.result);
    transaction.onabort = transaction.onerror = () => reject(transaction.error);
  });
}

/** @type {(entry: Omit<Entry, "n">) => Promise<number>} */
export const add = (entry) => within("entries", "readwrite", (store) => /** @type {IDBRequest<number>} */ (store.add(entry)));
/** @param {Entry} entry */
export const put = (entry) => within("entries", "readwrite", (store) => store.put(entry));
/** @param {number} n */
export const drop = (n) => within("entries", "readwrite", (store) => store.delete(n));
/** @type {() => Promise<Entry[]>} */
export const all = () => within("entries", "readonly", (store) => store.getAll());
/** @type {(name: string, value: unknown) => Promise<IDBValidKey>} */
export const keep = (name, value) => within("values", "readwrite", (store) => store.put(value, name));
/** @type {(name: string) => Promise<any>} */
export const kept = (name) => within("values", "readonly", (store) => store.get(name));

/** Everything but what was not sent; that is for the person to send or hand over. */
export async function forget() {
  await within("values", "readwrite", (store) => store.clear());
}
