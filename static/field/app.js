// The phone's page: join, choose a kind, read, save, be told. It works without a link.
import { judge } from "./warn.js";
import { add, all, drop, forget, keep, kept } from "./store.js";
import { ago, clock, clockWords, measure, offsetNow, postTime, recall } from "./time.js";
import { flush, onChange, request, setPlace } from "./send.js";
import { awake, newId, vibrate } from "./device.js";
import { keepPhoto, photoLack, photoOf, savePhotos } from "./photo.js";

const SIGNS = {
  withdraw: "M15 4 2 17l13 13 4-4-6-6h19v-6H13l6-6z",
  stop: "M4 4h26v26H4z",
  caution: "M17 2 33 31H1zM15 12v9h4v-9zm0 12v4h4v-4z",
  continue: "M19 4l13 13-13 13-4-4 6-6H2v-6h19l-6-6z",
};
const POLL = 5000;
const TABLE_PATIENCE = 60000;
/** What the page is known to have, by its id. @param {string} id */
const $ = (id) => /** @type {HTMLElement} */ (document.getElementById(id));
/** An input, or the choices of one: both have a value. @param {HTMLFormElement} form @param {string} name */
const fieldOf = (form, name) => /** @type {HTMLInputElement | null} */ (form.elements.namedItem(name));
const urls = document.body.dataset;

/** @type {Now | undefined} */
let now; // what the post said last
/** @type {Table | undefined} */
let table; // what one reading alone means
let fetching = false;
/** @type {Link} */
let link = "none";
/** @type {{ place?: string, again?: Entry }} */
let draft = {}; // what the open form begins with
/** @type {Entry | undefined} */
let mending; // the refused entry that the form is about
let shown = ""; // the page that is open
let heard = ""; // the withdraw that was understood

// --- Pages -----------------------------------------------------------------------------

/** @param {string} template */
function open(template) {
  const main = $("main");
  main.replaceChildren(/** @type {HTMLTemplateElement} */ ($(template)).content.cloneNode(true));
  shown = template;
  window.scrollTo(0, 0);
  return main;
}

/** @template {Element | null} T @param {T} node @param {string} [words] */
function text(node, words) {
  if (node) node.textContent = words ?? "";
  return node;
}

async function joinPage(words = "") {
  const entries = await all();
  open("page-join");
  const note = $("join-words");
  note.hidden = !words;
  text(note, words);
  text($("offline-words"), offlineWords());
  $("hand-over").hidden = !entries.length;
}

async function kindsPage() {
  open("page-kinds");
  text($("offline-words"), offlineWords());
  const last = await kept("last");
  if (last) text($("last"), `Last: ${last.words}, ${clock(last.at)}`);
  deviceWords();
  text($("hand"), `Save buttons for the ${document.body.classList.contains("left") ? "right" : "left"} hand`);
}

/** Which phone this is, and that its clock is wrong as soon as that was measured. */
const deviceWords = () => text($("device-words"), [now?.device.name, clockWords(), expiry()].filter(Boolean).join(" "));

const expiry = () => now && `Logs for ${now.team.name} until ${clock(Date.parse(now.expires_at))}.`;

/** @param {string} kind @param {Fields} [fields] */
function formPage(kind, fields = {}) {
  const main = open(`form-${kind}`);
  const form = /** @type {HTMLFormElement} */ ($("reading"));
  offer(form, kind);
  for (const [name, value] of Object.entries({ ...placeOf(), ...fields })) set(form, name, value);
  text(main.querySelector(".place-words"), `${now?.team.name ?? ""}, ${fieldOf(form, "place")?.value || "no place"}`);
  if (kind === "gas_meter") sameAsLast(form);
  document.dispatchEvent(new Event("change"));
  return form;
}

/** The figures of the last time in one tap; saves.js fills them in. @param {HTMLFormElement} form */
async function sameAsLast(form) {
  /** @type {[string, string][] | undefined} */
  const last = await kept("meter");
  if (!last) return;
  const button = text(Object.assign(document.createElement("button"), { type: "button", id: "same-as-last", className: "button again" }), "Same as last time");
  last.forEach(([name, figure], index) => { button.dataset[`fill${index}`] = `${name} ${figure}`; });
  form.querySelector(":scope > .fields")?.prepend(button);
}

const placeOf = () => ({ place: draft.place ?? now?.team.place ?? "", sample: "vapour" });

/** @param {HTMLFormElement} form @param {string} name @param {string} value */
function set(form, name, value) {
  const field = fieldOf(form, name);
  if (!field) return;
  if (field.type === "checkbox") field.checked = Boolean(value);
  else field.value = value;
}

/**
 * What only this incident has: its places, people, containers and instruments.
 * @param {HTMLFormElement} form @param {string} kind
 */
function offer(form, kind) {
  const { places, containers, members, instruments } = now?.choices ?? NO_CHOICES;
  form.querySelector("#places")?.replaceChildren(...places.map(option));
  const container = fieldOf(form, "container");
  if (container) {
    const list = document.createElement("datalist");
    list.id = "containers";
    list.replaceChildren(...containers.map(option));
    container.setAttribute("list", "containers");
    container.after(list);
  }
  const mine = instruments[kind] ?? [];
  const select = /** @type {HTMLSelectElement | null} */ (form.elements.namedItem("instrument"));
  if (!select) return;
  select.closest(".instruments")?.toggleAttribute("hidden", !mine.length);
  select.prepend(...mine.map(([key, name]) => new Option(name, key)));
  if (mine.length) select.selectedIndex = 0;
  people(form, members);
}

/** @type {Now["choices"]} */
const NO_CHOICES = { places: [], containers: [], members: [], instruments: {} };

/** @param {string} words */
const option = (words) => Object.assign(document.createElement("option"), { value: words });

/** @param {HTMLFormElement} form @param {[string, string][]} members */
function people(form, members) {
  const choices = form.querySelector("[data-members]");
  if (!choices) return;
  for (const [key, name] of members) {
    const label = document.createElement("label");
    label.className = "choice";
    const input = Object.assign(document.createElement("input"), { type: "radio", name: "member", value: key });
    input.dataset.say = name;
    input.dataset.unit = "";
    const face = text(document.createElement("span"), name);
    face.className = "face";
    label.append(input, face);
    choices.append(label);
  }
}

// --- Saving ----------------------------------------------------------------------------

/** @param {HTMLFormElement} form @param {HTMLElement | null} submitter */
function fieldsOf(form, submitter) {
  /** @type {Fields} */
  const fields = {};
  for (const [name, value] of new FormData(form, submitter)) {
    if (String(value).trim()) fields[name] = String(value).trim();
  }
  return fields;
}

/**
 * What keeps a form from being saved, in words; "" where it may. The post looks closer.
 * @param {string} kind @param {Fields} fields
 */
function lacking(kind, fields) {
  if (!now) return "This phone has not joined.";
  if (kind === "note") return photoLack(fields);
  if (fields.reading === "unreadable") return "Nothing was stored: a paper that cannot be read says nothing.";
  const choices = table?.choices[kind];
  /** @type {NodeListOf<HTMLInputElement>} */
  const pads = document.querySelectorAll("#reading [data-pad]");
  const figures = [...pads];
  const chosen = choices // without the table the post alone knows what goes together
    ? choices.by.map((name) => fields[name] ?? "").join("|") in choices.rows
    : figures.length || fields.reading || fields.what;
  if (!chosen) return "Choose what it shows.";
  const bad = figures.find((node) => node.value.trim() && !/^[-\u2212]?\d+([.,]\d+)?$/.test(node.value.trim()));
  if (bad) { bad.focus(); return `“${bad.value}” is not a number.`; }
  const said = figures.some((node) => node.value.trim()) || "alarm" in fields || Object.keys(fields).some((name) => name.startsWith("over_"));
  if (figures.length && !said) return "Enter at least one figure.";
  return "";
}

/** @param {HTMLFormElement} form @param {HTMLElement | null} submitter */
async function save(form, submitter) {
  const kind = form.dataset.kind ?? "";
  submitter?.toggleAttribute("disabled", true); // a second tap must not save twice
  const photo = await photoOf(form, mending);
  submitter?.toggleAttribute("disabled", false);
  const fields = fieldsOf(form, submitter);
  const lack = lacking(kind, fields);
  if (lack || !now) {
    const note = text($("not-saved"), lack);
    note.hidden = false;
    note.focus();
    return;
  }
  const words = (photo ? "Photo: " : "") + (submitter?.textContent ?? "").replace(/^Save /, "").trim();
  /** @type {Omit<Entry, "n">} */
  const logged = {
    uuid: newId(), kind, fields, state: "waiting", words,
    device_at: new Date().toISOString(), offset_ms: offsetNow(),
    incident: now.incident.id, team: now.team.id, device: now.device.id, ...(photo && { photo }),
  };
  const entry = { ...logged, n: await add(logged) };
  // Only now may the form be emptied, and what it mends be dropped.
  if (mending) await drop(mending.n);
  mending = undefined;
  draft = { place: fields.place };
  if (kind === "gas_meter") {
    await keep("meter", Object.entries(fields).filter(([name]) => /_(percent|ppm)$/.test(name) && name !== "gas_ppm"));
  }
  await keep("last", { words: [words, fields.place].filter(Boolean).join(", "), at: postTime() });
  answerPage(entry);
  flush();
}

/** @param {Entry} entry */
function answerPage(entry) {
  const main = open("page-answer");
  const read = entry.kind !== "note";
  const found = table && read ? judge(table, entry.kind, entry.fields, now?.team.ensemble ?? "") : [];
  const worst = found[0]?.action ? found[0] : undefined;
  const word = worst?.word ?? "continue";
  const verdict = main.querySelector(".verdict");
  verdict?.toggleAttribute("hidden", !read);
  verdict?.classList.add(word);
  verdict?.querySelector("path")?.setAttribute("d", SIGNS[word]);
  text($("answer-word"), worst ? label(word) : read ? "Nothing by itself" : "Photo saved");
  text(main.querySelector(".when"), clock(postTime()));
  text(main.querySelector(".computed"), read ? computed() : "A photo is not judged. Log what it shows as a reading too.");
  main.querySelector(".found")?.replaceChildren(...found.filter((one) => one.action).map(line));
  text(main.querySelector(".say-back b"), [entry.words, entry.fields.place].filter(Boolean).join(", "));
  const answer = /** @type {HTMLElement} */ (main.querySelector(".answer"));
  answer.dataset.uuid = entry.uuid;
  draft = { ...draft, again: entry };
  answer.focus();
  if (worst && worst.action >= 2) vibrate(worst.action);
  say(worst ? `${label(word)}. ${worst.title}.` : "");
  showWaiting();
}

/** @param {string} word */
const label = (word) => word[0].toUpperCase() + word.slice(1);

function computed() {
  if (!table || !now) return "This phone cannot judge: it has no table yet. Ask by radio.";
  const word = now.verdict ? `${now.verdict.label}, ${ago(Date.parse(now.at))}` : "none yet";
  return `Computed on the phone, for this reading alone in ${worn()}. Last word from the post: ${word}.`;
}

const worn = () => now?.team.wears || "unknown dress";

/** @param {Judged} one */
function line(one) {
  const item = document.createElement("li");
  item.append(text(document.createElement("b"), `${label(one.word)}: ${one.title}.`), ` ${one.advice.join(" ")}`);
  return item;
}

/** For who cannot see the screen. @param {string} words */
function say(words) {
  text($("alarm"), words);
}

// --- What waits ------------------------------------------------------------------------

async function waitingPage() {
  const entries = await all();
  open("page-waiting");
  listWaiting(entries);
}

/** @param {Entry[]} entries */
function listWaiting(entries) {
  const key = JSON.stringify(entries.map(({ n, state }) => [n, state]));
  if ($("waiting").dataset.key === key) return;
  $("waiting").dataset.key = key;
  const mine = entries.filter((one) => one.state !== "refused");
  text($("waiting-words"), entries.length
    ? `${mine.length} to be sent, ${entries.length - mine.length} not taken. What is not sent stays here.`
    : "Nothing waits: the post has everything.");
  $("waiting").replaceChildren(...entries.map(waitingLine));
  $("hand-over").hidden = !entries.length;
}

/** @param {Entry} entry */
function waitingLine(entry) {
  const item = document.createElement("li");
  const other = now && entry.incident !== now.incident.id;
  const why = entry.state === "refused"
    ? refusal(entry)
    : other ? "Of another incident: hand it over as a file."
      : entry.state === "photo" ? "The post has the entry; its photo waits for the link." : "Waits for the link.";
  item.append(
    text(document.createElement("b"), `${clock(Date.parse(entry.device_at) + (entry.offset_ms ?? 0))} ${entry.words}`),
    text(Object.assign(document.createElement("p"), { className: "muted" }), why),
  );
  if (entry.state === "refused") {
    const mend = text(Object.assign(document.createElement("button"), { type: "button", className: "button" }), "Mend it");
    mend.dataset.mend = String(entry.n);
    item.append(mend);
  }
  return item;
}

/** @param {Entry} entry */
const refusal = (entry) => (entry.errors ?? []).map(([, words]) => words).join(" ");

/** @param {number} n */
async function mend(n) {
  mending = (await all()).find((one) => one.n === n);
  if (!mending) return;
  const form = formPage(mending.kind, mending.fields);
  keepPhoto(form, mending);
  const note = text($("not-saved"), refusal(mending));
  note.hidden = false;
  const [name = ""] = mending.errors?.[0] ?? [];
  const field = form.elements.namedItem(name);
  const first = field instanceof RadioNodeList ? field[0] : field;
  const place = first instanceof HTMLElement ? first : note;
  place.closest("details")?.setAttribute("open", "");
  place.focus();
}

/** How many wait and since when; always in sight. */
async function showWaiting() {
  const entries = await all();
  const button = $("open-waiting");
  button.hidden = !entries.length;
  if (entries.length) {
    const oldest = Date.parse(entries[0].device_at) + (entries[0].offset_ms ?? 0);
    text(button, `${entries.length} waiting, oldest ${clock(oldest)}`);
  }
  if (shown === "page-waiting") listWaiting(entries);
  const answer = document.querySelector(".answer");
  if (!answer) return;
  const mine = entries.find((one) => one.uuid === answer.dataset.uuid);
  text(answer.querySelector(".kept"), mine ? "Kept on this phone; it goes to the post by itself." : "The post has it.");
}

async function handOver() {
  const entries = await all();
  const file = new Blob([JSON.stringify({ format: "worksheet-phone-entries", version: 1, entries: entries.map(({ photo, ...entry }) => entry) }, null, 1)], { type: "application/json" });
  const anchor = Object.assign(document.createElement("a"), { href: URL.createObjectURL(file), download: `phone-entries-${new Date().toISOString().slice(0, 16).replace(":", "")}.json` });
  anchor.click();
  savePhotos(entries);
  await keep("handed", entries.map((one) => one.n));
  text($("waiting-words") ?? $("offline-words"), "Saved as a file. It stays here too, until this phone leaves.");
}

// --- The post --------------------------------------------------------------------------

async function look() {
  try {
    await measure();
    const reply = await request(urls.linkUrl);
    if (reply.status === 401) return settle("out");
    if (reply.status === 403) return settle("revoked");
    if (!reply.ok) throw new Error(String(reply.status));
    await tell(await reply.json());
    deviceWords();
    settle("good");
    if (table?.tag !== now?.table) fetchTable().catch(() => {}); // the next look tries again
  } catch {
    settle("none");
  }
}

/** @param {Now} fresh */
async function tell(fresh) {
  now = fresh;
  await keep("now", now);
  setPlace({ incident: now.incident.id, team: now.team.id });
}

/** One at a time, and with patience: a busy post takes long to make it. */
async function fetchTable() {
  if (fetching) return;
  fetching = true;
  try {
    const reply = await request(urls.tableUrl, { signal: AbortSignal.timeout(TABLE_PATIENCE) });
    if (!reply.ok || !now) return;
    table = await reply.json();
    await keep("table", table);
    showOffline();
  } finally {
    fetching = false;
  }
}

/** @param {Link} state */
async function settle(state) {
  link = state;
  draw();
  if (state === "revoked") await cutOff("The command post has revoked this phone.");
  if (state === "out" && now) await cutOff("This phone is not joined any more: ask for a new code.");
}

/**
 * What the incident said is no longer this phone's to keep; what was logged here is.
 * @param {string} words
 */
async function cutOff(words) {
  await flush();
  await forget();
  now = table = undefined;
  await joinPage(`${words} What was logged here stays until it is sent or handed over.`);
  draw();
}

function draw() {
  text($("team"), now ? `${now.team.name}${now.incident.demo ? ", invented data" : ""}` : "Not joined");
  /** @type {Record<Link, string>} */
  const words = { good: "Link good", none: now ? `No link, word of ${ago(Date.parse(now.at))}` : "No link", out: "Not joined", revoked: "Revoked" };
  text($("state"), words[link]);
  document.body.dataset.link = link === "good" ? "good" : "lost";
  standing();
  showWaiting();
}

/** The post's verdict; a withdraw fills the head until somebody says it was understood. */
function standing() {
  const box = $("standing");
  const verdict = now?.verdict;
  box.hidden = !verdict || shown === "page-join";
  if (!verdict || box.hidden) return;
  const urgent = verdict.word === "withdraw" && heard !== verdict.because;
  const key = JSON.stringify([verdict, urgent]);
  if (box.dataset.key === key) return;
  if (urgent && box.dataset.because !== verdict.because) { vibrate(3); say(`Withdraw. ${verdict.because}`); }
  box.dataset.key = key;
  box.dataset.because = verdict.because;
  box.className = `verdict ${verdict.word}${urgent ? " unheard" : ""}`;
  const word = text(Object.assign(document.createElement("p"), { className: "word" }), verdict.label);
  const why = text(Object.assign(document.createElement("p"), { className: "why" }), [verdict.because.replace(/\.?$/, "."), ...verdict.advice, verdict.gaps].filter(Boolean).join(" "));
  box.replaceChildren(word, why);
  if (urgent) {
    const button = text(Object.assign(document.createElement("button"), { type: "button", className: "heard" }), "Understood");
    button.id = "understood";
    box.append(button);
  }
}

const secure = () => window.isSecureContext && "serviceWorker" in navigator;

const INSTALL = "Without a link it cannot open again, and what is not sent may be lost. Install the authority: the command post has its page. Then open this page anew.";
let offlineFault = "";

/** Whether the phone is ready for no link; where it is not, why and what to do. */
function offlineWords() {
  if (!secure()) return `This page is not served by https that this phone trusts. ${INSTALL}`;
  if (offlineFault) return offlineFault;
  if (now && !table) return "This phone cannot judge yet: its table is on the way.";
  return navigator.serviceWorker.controller ? "Ready for no link." : "Getting ready for no link.";
}

const showOffline = () => text($("offline-words"), offlineWords());

async function getReady() {
  await navigator.storage?.persist?.();
  if (!secure()) return;
  navigator.serviceWorker.addEventListener("controllerchange", showOffline);
  try {
    await navigator.serviceWorker.register(urls.worker ?? "", { scope: "/field/" });
  } catch (error) {
    // Without a link this comes too, where the page is ready already.
    if (navigator.serviceWorker.controller) return;
    offlineFault = `This phone does not trust the post's certificate (${error instanceof Error ? error.name : error}). ${INSTALL}`;
    showOffline();
  }
}

/** @param {string} secret */
async function join(secret) {
  history.replaceState(null, "", location.pathname);
  const entries = await all();
  try {
    const reply = await request(urls.joinUrl, { method: "POST", body: JSON.stringify(secret) });
    const answer = await reply.json();
    if (!reply.ok) return joinPage(answer.words);
    await forget();
    await tell(answer);
    link = "good";
    await kindsPage();
    draw();
    look(); // the code is spent: what is still missing comes as at any other time
    if (entries.length) flush();
  } catch {
    await joinPage("No answer from the post. Scan the code again within ten minutes.");
  }
}

async function leave() {
  await flush();
  const entries = await all();
  const handed = (await kept("handed")) ?? [];
  if (entries.some((one) => !handed.includes(one.n))) {
    await waitingPage();
    text($("waiting-words"), "Not left: this is not sent yet. Send it, or hand it over as a file, then leave.");
    return;
  }
  await request(urls.leaveUrl, { method: "POST", body: "{}" }).catch(() => {});
  for (const entry of entries) await drop(entry.n);
  await forget();
  now = table = undefined;
  await joinPage("This phone has left.");
  draw();
}

// --- Hands -----------------------------------------------------------------------------

document.addEventListener("submit", (event) => {
  event.preventDefault();
  save(event.target, event.submitter);
});

/** @type {Record<string, () => Promise<void>>} */
const TO = { kinds: kindsPage, waiting: waitingPage };
/** @type {Record<string, () => void | Promise<void>>} */
const PRESSED = {
  "open-waiting": waitingPage,
  "send-now": async () => { await flush(); await waitingPage(); },
  "hand-over": handOver,
  leave,
  hand: async () => {
    document.body.classList.toggle("left");
    await keep("left", document.body.classList.contains("left"));
    await kindsPage();
  },
  understood: () => { heard = now?.verdict?.because ?? ""; standing(); },
};

document.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  if (button.dataset.kind) { mending = undefined; formPage(button.dataset.kind); }
  else if (button.dataset.mend) mend(Number(button.dataset.mend));
  else if ("again" in button.dataset) again();
  else if (button.dataset.to) TO[button.dataset.to]();
  else PRESSED[button.id]?.();
});

/** The same kind, place and manner; never the figure and never "wet". */
function again() {
  if (!draft.again) return;
  const { kind, fields } = draft.again;
  const same = ["place", "sample", "carried_on", "height", "target", "container", "unit", "dose_rate_unit", "dose_unit", "instrument", "member"];
  formPage(kind, Object.fromEntries(Object.entries(fields).filter(([name]) => same.includes(name))));
}

onChange(({ entry, answer, link: state, now: fresh }) => {
  if (fresh) now = fresh;
  if (answer?.state === "held") say("The command post keeps an entry apart and decides on it.");
  if (answer && (answer.state === "refused" || answer.state === "conflict")) say(`Not taken: ${entry?.words}`);
  if (state) settle(state); else showWaiting();
});

async function start() {
  await recall();
  if (await kept("left")) document.body.classList.add("left");
  now = await kept("now");
  table = await kept("table");
  if (now) setPlace({ incident: now.incident.id, team: now.team.id });
  const secret = new URLSearchParams(location.hash.slice(1)).get("join");
  if (secret) await join(secret);
  else if (now) await kindsPage();
  else await joinPage();
  draw();
  getReady();
  awake();
  flush();
  look();
  setInterval(look, POLL);
  addEventListener("hashchange", () => {
    const code = new URLSearchParams(location.hash.slice(1)).get("join");
    if (code) join(code);
  });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") { look(); flush(); awake(); }
  });
}

start();
