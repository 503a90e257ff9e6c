// Where this phone stands: its team, its link, and whether it is ready for none; and what is
// shown before a form is opened, how to join or the kinds of reading.
import { fill, open, phone, refresh, words } from "./page.js";
import { kept } from "./store.js";
import { ago, clock, clockWords } from "./time.js";

export function joinPage(why = "") {
  open("page-join");
  fill({ "#join-words": why });
}

export async function kindsPage() {
  open("page-kinds");
  const last = await kept("last");
  if (last) fill({ "#last": words("last", last.words, clock(last.at)) });
}

/** Not there without https that is trusted. @type {ServiceWorkerContainer | undefined} */
const worker = navigator.serviceWorker;

let fault = ""; // why the browser would not keep the page

function readiness() {
  if (!worker) return words("no-https");
  if (fault) return words("no-trust", fault);
  if (phone.now && !phone.table) return words("no-table");
  return words(worker.controller ? "ready" : "not-ready");
}

document.addEventListener("refresh", () => {
  const { now, link } = phone;
  const state = now && link === "none" ? words("link-lost", ago(now.at)) : words(`link-${link}`);
  document.body.dataset.link = link === "good" ? "good" : "lost";
  fill({ "#state": state, "#offline-words": readiness() });
  if (!now) return fill({ "#team": words("link-out") });
  const { device, team, incident, expires_at } = now;
  const until = clock(Date.parse(expires_at));
  fill({
    "#team": incident.demo ? `${team.name}, invented data` : team.name,
    "#device-words": words("device", device.name, clockWords(), team.name, until),
  });
});

export async function getReady() {
  await navigator.storage?.persist?.();
  if (!worker) return;
  worker.addEventListener("controllerchange", refresh);
  try {
    await worker.register(document.body.dataset.worker, { scope: "/field/" });
  } catch (/** @type {any} */ error) {
    // Without a link this comes too, where the page is ready already.
    if (worker.controller) return;
    fault = error.name;
    refresh();
  }
}
