// What the post does not have yet: counted on every page, listed on one, handed over as a file.
import { download } from "./device.js";
import { $, copy, fill, open, phone, words } from "./page.js";
import { all, keep } from "./store.js";
import { clock } from "./time.js";

/** Read first, so that it does not open empty. */
export async function waitingPage() {
  const entries = await all();
  open("page-waiting");
  list(entries);
}

document.addEventListener("refresh", async () => {
  const entries = await all();
  const [oldest] = entries;
  for (const id of ["open-waiting", "hand-over"]) $(id)?.toggleAttribute("hidden", !oldest);
  if (oldest) fill({ "#open-waiting": words("waiting", entries.length, loggedAt(oldest)) });
  if ($("waiting")) list(entries);
  const mine = entries.some(({ uuid }) => uuid === $("answer")?.dataset.uuid);
  fill({ ".kept": words(mine ? "kept" : "sent") });
});

/** @param {Entry[]} entries */
function list(entries) {
  const key = entries.map(({ n, state }) => n + state).join();
  if ($("waiting").dataset.key === key) return;
  $("waiting").dataset.key = key;
  const refused = entries.filter(({ state }) => state === "refused").length;
  const counted = words("counted", entries.length - refused, refused);
  fill({ "#waiting-words": entries.length ? counted : words("all-sent") });
  $("waiting").replaceChildren(...entries.map(line));
}

/** @param {Entry} entry */
function line(entry) {
  const { state, incident } = entry;
  const item = copy("waiting-entry");
  const mend = item.querySelector("button");
  mend.hidden = state !== "refused";
  mend.dataset.mend = String(entry.n);
  const other = phone.now && incident !== phone.now.incident.id;
  const why = state === "refused" ? refusal(entry) : words(other ? "of-another" : `${state}-waits`);
  fill({ ".what": `${loggedAt(entry)} ${entry.words}`, ".why": why }, item);
  return item;
}

/** By the post's time. @param {Entry} entry */
const loggedAt = ({ device_at, offset_ms = 0 }) => clock(Date.parse(device_at) + offset_ms);

/** Why the post did not take it. @param {Entry} entry */
export const refusal = ({ errors = [] }) => errors.map(([, why]) => why).join(" ");

/** All of it in one file, and beside it each photo in one of its own. */
export async function handOver() {
  const entries = await all();
  const bare = entries.map(({ photo, ...entry }) => entry);
  const file = { format: "worksheet-phone-entries", version: 1, entries: bare };
  const minute = new Date().toISOString().slice(0, 16).replace(":", "");
  const json = new Blob([JSON.stringify(file, null, 1)], { type: "application/json" });
  download(json, `phone-entries-${minute}.json`);
  for (const { photo, fields } of entries) {
    if (photo) download(photo, `photo-${fields.photo_sha256.slice(0, 16)}.${photo.type.slice(6)}`);
  }
  await keep("handed", entries.map(({ n }) => n));
  fill({ "#waiting-note, #join-words": words("handed-over") });
}
