// What this phone keeps: entries until the post has them, and a few values by name.
// An entry is on the disk before anything is sent and before its form is emptied.

/** @type {Promise<IDBDatabase>} */
const opened = new Promise((resolve, reject) => {
  const request = indexedDB.open("worksheet-field", 1);
  request.onupgradeneeded = () => {
    request.result.createObjectStore("entries", { keyPath: "n", autoIncrement: true });
    request.result.createObjectStore("values");
  };
  request.onsuccess = () => resolve(request.result);
  request.onerror = () => reject(request.error);
});

/**
 * Do one thing in one store; resolves once the whole transaction is on the disk.
 * @param {string} store @param {string} what @param {any[]} given @returns {Promise<any>}
 */
async function within(store, what, ...given) {
  const database = await opened;
  const mode = what.startsWith("get") ? "readonly" : "readwrite";
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(store, mode, { durability: "strict" });
    const request = /** @type {any} */ (transaction.objectStore(store))[what](...given);
    transaction.oncomplete = () => resolve(request.result);
    transaction.onabort = transaction.onerror = () => reject(transaction.error);
  });
}

/** @param {Omit<Entry, "n">} entry */
export const add = async (entry) => ({ ...entry, n: await within("entries", "add", entry) });
/** @param {Entry} entry */
export const put = (entry) => within("entries", "put", entry);
/** @param {Entry} entry */
export const drop = ({ n }) => within("entries", "delete", n);
/** @type {() => Promise<Entry[]>} */
export const all = () => within("entries", "getAll");
/** @param {string} name @param {unknown} value */
export const keep = (name, value) => within("values", "put", value, name);
/** @param {string} name */
export const kept = (name) => within("values", "get", name);
/** Everything but what was not sent; that is for the person to send or hand over. */
export const forget = () => within("values", "clear");
