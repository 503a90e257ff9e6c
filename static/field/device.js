// What a phone can do besides showing: buzz, and stay awake. Neither is ever relied on.
/** @type {Record<number, number[]>} */
const PATTERNS = { 2: [400, 200, 400], 3: [800, 200, 800, 200, 800] };

/** @param {number} action */
export function vibrate(action) {
  navigator.vibrate?.(PATTERNS[action] ?? []);
}

/** A random UUID (RFC 9562, version 4), over plain http too, where the browser makes none. */
export function newId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

export async function awake() {
  try {
    await navigator.wakeLock?.request("screen");
  } catch {
    // The phone decides: a low battery, say.
  }
}
