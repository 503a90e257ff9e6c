// The phone's page: join, choose a kind, read, save, be told. It works without a link.
import { awake } from "./device.js";
import { again, formPage, mend } from "./form.js";
import { getReady, joinPage, kindsPage } from "./home.js";
import { phone, refresh } from "./page.js";
import { join, leave, look } from "./post.js";
import { save } from "./save.js";
import { flush } from "./send.js";
import { keep, kept } from "./store.js";
import { handOver, waitingPage } from "./waiting.js";

const POLL = 5000;

/** By what a button leads to, or else by its id. @type {Record<string, () => unknown>} */
const PRESSED = {
  kinds: kindsPage,
  waiting: waitingPage,
  again,
  "send-now": flush,
  "hand-over": handOver,
  hand: () => keep("left", document.body.classList.toggle("left")),
  leave,
  understood() {
    phone.heard = phone.now?.verdict?.because;
    refresh();
  },
};

document.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  const { kind, mend: n, to } = button.dataset;
  if (kind) {
    phone.mending = undefined;
    formPage(kind);
  } else if (n) mend(Number(n));
  else PRESSED[to ?? button.id]?.();
});

document.addEventListener("submit", (event) => {
  event.preventDefault();
  save(event.submitter);
});

function freshen() {
  awake();
  flush();
  look();
}

async function start() {
  document.body.classList.toggle("left", Boolean(await kept("left")));
  phone.now = phone.place = await kept("now");
  phone.table = await kept("table");
  if (!(await join())) await (phone.now ? kindsPage() : joinPage());
  getReady();
  freshen();
  setInterval(look, POLL);
  addEventListener("hashchange", join);
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") freshen();
  });
}

start();
