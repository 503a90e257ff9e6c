// Sends what waits, oldest first, in batches with an answer for each. One tab at a time.
// An entry leaves the phone only when the post says that it has it, or holds it apart.
import { joinPage } from "./home.js";
import { phone, refresh, say, words } from "./page.js";
import { all, drop, forget, keep, put } from "./store.js";
import { offset } from "./time.js";

const MOST = 50;
const FIRST_WAIT = 1000;
const PHOTO_WAIT = 5000;
const LONGEST_WAIT = 30000;
const PATIENCE = 15000;

let wait = FIRST_WAIT;
let timer = 0;

/** Ask the post, or tell it something. @param {RequestInit} [options] */
export function request(what = "", options = {}) {
  return fetch(document.body.dataset[`${what}Url`] ?? "", {
    method: options.body ? "POST" : "GET",
    cache: "no-store",
    signal: AbortSignal.timeout(PATIENCE),
    ...options,
    headers: {
      "X-Worksheet-Device": "1",
      "X-Worksheet-Sent": new Date().toISOString(),
      "Content-Type": "application/json",
      ...options.headers,
    },
  });
}

/** What stands now, as the post says. @param {Now} now */
export async function take(now) {
  phone.now = phone.place = now;
  await keep("now", now);
}

/** How the link is now, and whether the post knows this phone. @param {Link} link */
export async function settle(link) {
  phone.link = link;
  refresh();
  if (link === "revoked" || (link === "out" && phone.now)) {
    await flush();
    await cutOff(words(`now-${link}`));
  }
}

/** What the incident said is no longer this phone's to keep; what was logged here is. */
export async function cutOff(why = "") {
  await forget();
  phone.now = phone.table = undefined;
  joinPage(why);
}

function plan(ms = wait) {
  clearTimeout(timer);
  timer = setTimeout(flush, ms);
}

/** Send now if nobody else is at it; afterwards by timer, whether or not there is a link. */
export async function flush() {
  clearTimeout(timer);
  // Over plain http there are no locks: two tabs may send the same, which is stored once.
  if (!navigator.locks) return attempt();
  await navigator.locks.request("send", { ifAvailable: true }, async (lock) => {
    if (lock) await attempt();
    else plan(FIRST_WAIT);
  });
}

async function attempt() {
  try {
    await sendAll();
  } catch {
    settle("none");
    plan();
    wait = Math.min(wait * 2, LONGEST_WAIT);
    return;
  }
  // Beside what is sent next: readings do not wait for a photo.
  sendPhotos().catch(() => plan(PHOTO_WAIT));
}

/** What may go to where this phone is now. @param {Entry["state"]} state */
async function mine(state) {
  const { incident, team } = phone.place ?? {};
  return (await all()).filter((entry) =>
    entry.state === state && entry.incident === incident?.id && entry.team === team?.id);
}

async function sendAll() {
  if (!phone.place) return;
  for (;;) {
    const batch = (await mine("waiting")).slice(0, MOST);
    if (!batch.length) break;
    const entries = batch.map(({ uuid, n, kind, fields, device_at, offset_ms }) => ({
      uuid, n, kind, fields, device_at, offset_ms: offset_ms ?? offset ?? 0,
    }));
    const body = JSON.stringify({ sent_at: new Date().toISOString(), entries });
    const reply = await request("entries", { body });
    if (reply.status === 401) return void settle("out"); // not awaited: it sends, too
    if (!reply.ok) throw new Error(String(reply.status));
    if (await taken(batch, await reply.json())) break;
  }
  wait = FIRST_WAIT;
  plan(LONGEST_WAIT);
}

/** Note each answer; true where the rest is to wait. @param {Entry[]} batch @param {Reply} reply */
async function taken(batch, { answers, now, revoked }) {
  let again = false;
  for (const entry of batch) {
    const answer = answers.find(({ uuid }) => uuid === entry.uuid);
    if (!answer || answer.state === "again") again = true;
    else if (answer.state !== "stored" && answer.state !== "held") await refuse(entry, answer);
    else if (entry.photo) await put({ ...entry, state: "photo" });
    else await drop(entry);
    if (answer?.state === "held") say(words("held"));
  }
  if (now) await take(now);
  settle(revoked ? "revoked" : "good");
  return again;
}

/** It stays here to be mended. @param {Entry} entry @param {Answer} answer */
async function refuse(entry, { errors }) {
  await put({ ...entry, state: "refused", errors });
  say(words("not-taken", entry.words));
}

/** Of the entries that the post has, one by one, by one tab. */
async function sendPhotos() {
  await navigator.locks?.request("photos", { ifAvailable: true }, async (lock) => {
    for (const entry of lock ? await mine("photo") : []) await sendPhoto(entry);
  });
}

/** @param {Entry} entry */
async function sendPhoto(entry) {
  const { photo, fields, uuid } = entry;
  if (!photo) return;
  const reply = await request("photo", {
    body: photo,
    signal: AbortSignal.timeout(20_000 + photo.size / 6), // a link below 6 kB/s is none
    headers: { "Content-Type": fields.photo_type, "X-Worksheet-Entry": uuid },
  });
  const answer = await reply.json();
  if (answer.state === "refused") await refuse(entry, answer);
  else if (answer.sha256 === fields.photo_sha256) await drop(entry);
  else throw new Error(String(reply.status));
  refresh();
}
