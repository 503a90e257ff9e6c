// Joins by a code, asks the command post every few seconds what stands, and leaves.
import { joinPage, kindsPage } from "./home.js";
import { fill, phone, refresh, words } from "./page.js";
import { cutOff, flush, request, settle, take } from "./send.js";
import { all, drop, forget, keep, kept } from "./store.js";
import { measure } from "./time.js";
import { waitingPage } from "./waiting.js";

const TABLE_PATIENCE = 60000;

/** By the code in the address, as the post's picture gives it; false where there is none. */
export async function join() {
  const code = new URLSearchParams(location.hash.slice(1)).get("join");
  if (!code) return false;
  history.replaceState(null, "", location.pathname);
  try {
    const reply = await request("join", { body: JSON.stringify(code) });
    const answer = await reply.json();
    if (reply.ok) {
      await forget();
      await take(answer);
      phone.link = "good";
      await kindsPage();
      look(); // the code is spent: what is still missing comes as at any other time
      flush();
    } else joinPage(answer.words);
  } catch {
    joinPage(words("no-answer"));
  }
  return true;
}

export async function look() {
  try {
    await measure();
    const reply = await request("link");
    if (reply.status === 401) return settle("out");
    if (reply.status === 403) return settle("revoked");
    if (!reply.ok) return settle("none");
    await take(await reply.json());
    settle("good");
    if (phone.table?.tag === phone.now?.table) return;
    fetching ??= fetchTable().catch(() => {}).finally(() => { fetching = undefined; });
  } catch {
    settle("none");
  }
}

/** One at a time; the next look tries again. @type {Promise<void> | undefined} */
let fetching;

/** With patience: a busy post takes long to make it. */
async function fetchTable() {
  const reply = await request("table", { signal: AbortSignal.timeout(TABLE_PATIENCE) });
  if (!reply.ok || !phone.now) return;
  phone.table = await reply.json();
  await keep("table", phone.table);
  refresh();
}

export async function leave() {
  await flush();
  const entries = await all();
  const handed = (await kept("handed")) ?? [];
  if (entries.some(({ n }) => !handed.includes(n))) {
    await waitingPage();
    return fill({ "#waiting-note": words("not-left") });
  }
  await request("leave", { body: "{}" }).catch(() => {});
  for (const entry of entries) await drop(entry);
  await cutOff(words("left"));
}
