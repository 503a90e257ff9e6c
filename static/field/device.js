// What a phone can do besides showing: buzz, stay awake, save a file. None is relied on.
const PATTERNS = [[], [], [400, 200, 400], [800, 200, 800, 200, 800]]; // ms, by the action

export const vibrate = (action = 0) => navigator.vibrate?.(PATTERNS[action]);

/** The phone decides: with a low battery, say, it does not. */
export const awake = () => navigator.wakeLock?.request("screen").catch(() => {});

/** @param {Blob} file @param {string} name */
export function download(file, name) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(file);
  link.download = name;
  link.click();
}

/** @param {Uint8Array} bytes */
export const hex = (bytes) => [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");

/** A random UUID (RFC 9562, version 4). Over plain http a browser makes none by itself. */
export function newId() {
  const digits = hex(crypto.getRandomValues(new Uint8Array(16)));
  return digits.replace(/^(.{8})(.{4}).(.{3}).(.{3})/, "$1-$2-4$3-8$4-");
}
