// The post's time on this phone: measured, shown, never put right behind anyone's back.
// `offset` is what to add to this phone's clock; undefined until it was measured once.
import { keep, kept } from "./store.js";

/** @type {number | undefined} */
let offset;
let least = Infinity;

export async function recall() {
  offset = await kept("offset");
}

export async function measure() {
  const sent = Date.now();
  const began = performance.now();
  const reply = await fetch(document.body.dataset.clock ?? "", { cache: "no-store" });
  const there = Date.parse((await reply.json()).now);
  const travel = performance.now() - began;
  // The sample with the least travel wins; a clock that was moved meanwhile shows at once.
  const fresh = Math.round(there - (sent + travel / 2));
  if (offset !== undefined && travel > least && Math.abs(fresh - offset) < 2000) return;
  least = travel;
  offset = fresh;
  await keep("offset", offset);
}

export const offsetNow = () => offset;
export const postTime = () => Date.now() + (offset ?? 0);

/** The words for a clock that is wrong; "" where it is right within half a minute. */
export function clockWords() {
  if (offset === undefined || Math.abs(offset) < 30000) return "";
  const minutes = Math.round(Math.abs(offset) / 60000) || 1;
  return `This phone's clock is ${minutes} min ${offset > 0 ? "behind" : "ahead"}; entries carry the post's time.`;
}

/** @param {number} ms */
export const clock = (ms) => new Date(ms).toTimeString().slice(0, 5);

/** "40 s ago", "3 min ago", "2 h ago". @param {number} ms */
export function ago(ms) {
  const seconds = Math.max(0, Math.round((postTime() - ms) / 1000));
  if (seconds < 90) return `${seconds} s ago`;
  const minutes = Math.round(seconds / 60);
  return minutes < 120 ? `${minutes} min ago` : `${Math.round(minutes / 60)} h ago`;
}
