// From the tap on Save to an entry in the phone's own store, or to what is missing for one.
import { newId } from "./device.js";
import { $, fill, form, phone, words } from "./page.js";
import { photoTaken } from "./photo.js";
import { flush } from "./send.js";
import { add, drop, keep } from "./store.js";
import { offset, postTime } from "./time.js";
import { answerPage } from "./verdict.js";
import { chosen } from "./warn.js";

/** @param {HTMLButtonElement} button */
export async function save(button) {
  const reading = form();
  const { kind = "" } = reading.dataset;
  button.disabled = true; // a second tap must not save twice
  const photo = await photoTaken();
  button.disabled = false;
  /** @type {Fields} */
  const fields = {};
  for (const [name, value] of new FormData(reading, button)) {
    if (String(value).trim()) fields[name] = String(value).trim();
  }
  const { now, mending } = phone;
  const lack = now ? lacking(fields, kind) : words("not-joined");
  if (lack || !now) {
    fill({ "#not-saved": lack });
    return $("not-saved").focus();
  }
  const read = button.textContent.replace(/^Save /, "").trim();
  const entry = await add({
    uuid: newId(), kind, fields, state: "waiting", words: photo ? `Photo: ${read}` : read,
    device_at: new Date().toISOString(), offset_ms: offset,
    incident: now.incident.id, team: now.team.id, device: now.device.id, ...(photo && { photo }),
  });
  // Only now may the form be emptied, and what it mends be dropped.
  if (mending) await drop(mending);
  phone.mending = undefined;
  phone.last = entry;
  if (kind === "gas_meter") {
    const isSensor = /^(?!gas_).*_(percent|ppm)$/;
    const figures = Object.entries(fields).filter(([name]) => isSensor.test(name));
    await keep("figures", String(new URLSearchParams(figures)));
  }
  const last = [entry.words, fields.place].filter(Boolean).join(", ");
  await keep("last", { words: last, at: postTime() });
  answerPage(entry);
  flush();
}

/** What it needs to be saved, or "". The post looks closer. @param {Fields} fields */
function lacking(fields, kind = "") {
  if (kind === "note" && !fields.photo_sha256) return words("no-photo");
  if (kind === "note") return fields.shows ? "" : words("shows-nothing");
  if (fields.reading === "unreadable") return words("unreadable");
  const figures = [...document.querySelectorAll("[data-pad]")];
  const choices = phone.table?.choices[kind];
  const complete = choices // without the table the post alone knows what goes together
    ? chosen(choices, fields)
    : figures.length || fields.reading || fields.what;
  if (!complete) return words("nothing-chosen");
  const entered = figures.filter(({ value }) => value.trim());
  const bad = entered.find(({ value }) => !/^[-\u2212]?\d+([.,]\d+)?$/.test(value.trim()));
  bad?.focus();
  if (bad) return words("no-number", bad.value);
  const alarmed = Object.keys(fields).some((name) => /^(alarm$|over_)/.test(name));
  return figures.length && !entered.length && !alarmed ? words("no-figure") : "";
}
