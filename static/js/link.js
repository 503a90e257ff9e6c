// The link in words, and the sheet's poll: asks with the tag it has, so that 304 is seen.
const STALE = 6000;
const state = document.getElementById("link-state");
const age = document.getElementById("link-age");
const live = document.getElementById("live");
let etag = live?.dataset.etag;
let last = performance.now();
let lastWall = 0;

/** @param {string} text */
function say(text) {
  if (state && state.textContent !== text) state.textContent = text;
}

function answered() {
  last = performance.now();
  lastWall = window.serverNow();
}

function look() {
  const silent = performance.now() - last;
  if (document.body.dataset.link === "out") return;
  const lost = silent > STALE;
  document.body.dataset.link = lost ? "lost" : "good";
  say(lost ? `No answer since ${window.wallTime(lastWall)}` : "Link good");
  if (age) age.textContent = lost ? "" : `, ${Math.floor(silent / 1000)} s ago`;
}

/** @param {XMLHttpRequest} xhr */
const atSignIn = (xhr) => xhr.responseURL?.includes(document.body.dataset.signIn);

document.addEventListener("htmx:configRequest", (event) => {
  if (event.detail.elt === live && etag) event.detail.headers["If-None-Match"] = etag;
});

document.addEventListener("htmx:afterRequest", (event) => {
  const { elt, xhr } = event.detail;
  if (!xhr.status || xhr.status >= 500 || atSignIn(xhr)) return;
  answered();
  document.body.dataset.link = "good";
  if (elt === live && xhr.status === 304) etag = xhr.getResponseHeader("ETag") || etag;
});

// Only what was put in is known: still.js may hold news back.
document.addEventListener("htmx:afterSwap", (event) => {
  if (event.target === live) etag = event.detail.xhr.getResponseHeader("ETag") || etag;
});

// A sign-in page in place of an answer must not be pasted into the sheet.
document.addEventListener("htmx:beforeSwap", (event) => {
  if (!atSignIn(event.detail.xhr)) return;
  event.detail.shouldSwap = false;
  const detail = event.detail.requestConfig.elt;
  document.dispatchEvent(new CustomEvent("signed-out", { detail }));
  document.body.dataset.link = "out";
  say("Signed out: sign in again, nothing new is shown");
  if (age) age.textContent = "";
});

document.addEventListener("answered", answered);
answered();
setInterval(look, 500);
