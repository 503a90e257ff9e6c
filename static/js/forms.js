// Errors take the focus; a form on its way says so; one that did not arrive says that.
function face() {
  const summary = document.getElementById("error-summary");
  if (summary) summary.focus();
}

document.addEventListener("htmx:afterSettle", (event) => {
  const summary = document.getElementById("error-summary");
  if (summary) {
    if (event.target.contains(summary)) face();
    return;
  }
  if (event.target.id === "live" || event.target.id === "late") return;
  const title = document.querySelector("#answer, #decide [tabindex='-1']");
  title?.focus({ preventScroll: true });
  title?.scrollIntoView({ block: "nearest" });
});
face();

// Before htmx collects the fields: this listens higher up, on the way down.
document.addEventListener("submit", (event) => {
  const form = event.target;
  const time = form.elements.observed_at;
  // Once: a repeat after a lost answer has to be the same entry.
  if (time && !time.value) time.value = new Date(window.serverNow()).toISOString();
  const button = event.submitter;
  if (!button || !form.hasAttribute("hx-post")) return;
  button.dataset.was = button.textContent;
  button.textContent = "Saving";
  button.setAttribute("aria-busy", "true");
}, true);

/** @param {HTMLElement} form @param {string} why */
function failed(form, why) {
  for (const button of form.querySelectorAll?.("[aria-busy]") ?? []) {
    button.textContent = button.dataset.was;
    button.removeAttribute("aria-busy");
  }
  const note = form.querySelector?.(".not-sent");
  if (note) { note.hidden = false; note.textContent = `Not saved: ${why} Save again; it is stored once.`; }
}

// A new sign-in in another tab makes the page's token old; what was typed stays.
async function renewToken() {
  const text = await (await fetch(location.href)).text();
  const fresh = new DOMParser().parseFromString(text, "text/html").body.getAttribute("hx-headers");
  if (!fresh) return;
  document.body.setAttribute("hx-headers", fresh);
  for (const node of document.getElementsByName("csrfmiddlewaretoken")) {
    node.value = JSON.parse(fresh)["X-CSRFToken"];
  }
}

document.addEventListener("htmx:sendError", (event) => failed(event.detail.elt, "no answer."));
document.addEventListener("htmx:timeout", (event) => failed(event.detail.elt, "no answer."));
document.addEventListener("htmx:responseError", (event) => {
  if (event.detail.xhr.status === 403) renewToken();
  failed(event.detail.elt, "not taken. Sign in again if you were signed out.");
});
document.addEventListener("signed-out", (event) => {
  failed(event.detail, "signed out. Sign in again in another tab.");
});
