// Sends what waits, oldest first, in batches with an answer for each. One tab at a time.
// An entry leaves the phone only when the post says that it has it, or holds it apart.
import { sendPhotos } from "./photo.js";
import { all, drop, keep, put } from "./store.js";
import { offsetNow } from "./time.js";

const MOST = 50;
const FIRST_WAIT = 1000;
const LONGEST_WAIT = 30000;
const PATIENCE = 15000;

let wait = FIRST_WAIT;
let timer = 0;
/** @type {(news: News) => void} */
let tell = () => {};

/** @param {(news: News) => void} listener */
export function onChange(listener) {
  tell = listener;
}

/** @param {string | undefined} url @param {RequestInit} [options] */
export function request(url, options = {}) {
  return fetch(url ?? "", {
    cache: "no-store",
    credentials: "same-origin",
    signal: AbortSignal.timeout(PATIENCE),
    ...options,
    headers: { "X-Worksheet-Device": "1", "X-Worksheet-Sent": new Date().toISOString(), "Content-Type": "application/json", ...options.headers },
  });
}

/**
 * What waits and may go to the incident that this phone is in now.
 * @param {Entry[]} entries @param {Place | undefined} place
 */
export const waiting = (entries, place) =>
  entries.filter((one) => one.state === "waiting" && one.incident === place?.incident && one.team === place?.team);

/** @param {number} ms */
function plan(ms) {
  clearTimeout(timer);
  timer = setTimeout(flush, ms);
}

function later() {
  plan(wait);
  wait = Math.min(wait * 2, LONGEST_WAIT);
}

/** Send now if nobody else is at it; afterwards by timer, whether or not there is a link. */
export function flush() {
  clearTimeout(timer);
  // Over plain http there are no locks: two tabs may send the same, which is stored once.
  if (!navigator.locks) return attempt();
  return navigator.locks.request("send", { ifAvailable: true }, async (lock) => {
    if (!lock) return plan(FIRST_WAIT);
    return attempt();
  });
}

async function attempt() {
  try {
    await sendAll();
  } catch {
    tell({ link: "none" });
    later();
    return;
  }
  // Beside what is sent next: readings do not wait for a photo.
  if (place) sendPhotos(place, request, tell).catch(() => plan(5000));
}

/** @type {Place | undefined} */
let place;
/** @param {Place} value */
export const setPlace = (value) => { place = value; };

async function sendAll() {
  if (!place) return;
  for (;;) {
    const batch = waiting(await all(), place).slice(0, MOST);
    if (!batch.length) break;
    const reply = await request(document.body.dataset.entriesUrl, {
      method: "POST",
      body: JSON.stringify({ sent_at: new Date().toISOString(), entries: batch.map(outgoing) }),
    });
    if (reply.status === 401) return tell({ link: "out" });
    if (!reply.ok) throw new Error(String(reply.status));
    if (await taken(batch, await reply.json())) break;
  }
  wait = FIRST_WAIT;
  plan(LONGEST_WAIT);
}

/** @param {Entry} entry */
const outgoing = ({ uuid, n, kind, fields, device_at, offset_ms }) => ({
  uuid, n, kind, fields, device_at, offset_ms: offset_ms ?? offsetNow() ?? 0,
});

/**
 * Note each answer; true where the post asked to be left alone for a while.
 * @param {Entry[]} batch @param {{ answers: Answer[], now?: Now, revoked?: true }} reply
 */
async function taken(batch, { answers, now, revoked }) {
  const byId = new Map(answers.map((answer) => [answer.uuid, answer]));
  let again = false;
  for (const entry of batch) {
    const answer = byId.get(entry.uuid);
    if (!answer || answer.state === "again") again = true;
    else if (answer.state === "stored" || answer.state === "held") await (entry.photo ? put({ ...entry, state: "photo" }) : drop(entry.n));
    else await put({ ...entry, state: "refused", errors: answer.errors });
    if (answer) tell({ entry, answer });
  }
  if (now) await keep("now", now);
  tell({ link: revoked ? "revoked" : "good", now });
  if (again) later();
  return again;
}
