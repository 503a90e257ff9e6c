// The post's time on this phone: measured, shown, never put right behind anyone's back.
import { words } from "./page.js";
import { keep, kept } from "./store.js";

/** What to add to this phone's clock, once it was measured. @type {number | undefined} */
export let offset = await kept("offset");
let least = Infinity; // ms that the best sample travelled

export async function measure() {
  const sent = Date.now();
  const began = performance.now();
  const reply = await fetch(document.body.dataset.clock, { cache: "no-store" });
  const there = Date.parse((await reply.json()).now);
  const travel = performance.now() - began;
  // The sample with the least travel wins; a clock that was moved meanwhile shows at once.
  const fresh = Math.round(there - (sent + travel / 2));
  if (offset !== undefined && travel > least && Math.abs(fresh - offset) < 2000) return;
  least = travel;
  offset = fresh;
  await keep("offset", offset);
}

export const postTime = () => Date.now() + (offset ?? 0);

/** The words for a clock that is wrong; "" where it is right within half a minute. */
export function clockWords() {
  if (offset === undefined || Math.abs(offset) < 30000) return "";
  const minutes = Math.round(Math.abs(offset) / 60000) || 1;
  return words(offset > 0 ? "clock-behind" : "clock-ahead", minutes);
}

export const clock = (ms = postTime()) => new Date(ms).toTimeString().slice(0, 5);

/** "40 s ago", "3 min ago", "2 h ago". */
export function ago(moment = "") {
  const seconds = Math.max(0, Math.round((postTime() - Date.parse(moment)) / 1000));
  if (seconds < 90) return `${seconds} s ago`;
  const minutes = Math.round(seconds / 60);
  return minutes < 120 ? `${minutes} min ago` : `${Math.round(minutes / 60)} h ago`;
}
