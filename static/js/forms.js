// Errors take the focus; a form on its way says so; one that did not arrive says that.
function face() {
  const summary = document.getElementById("error-summary");
  if (summary) summary.focus();
}

document.addEventListener("htmx:afterSettle", (event) => {
  if (document.getElementById("error-summary")) return face();
  if (event.target.id === "live") return;
  document.querySelector("#answer, #decide [tabindex='-1']")?.focus({ preventScroll: true });
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

function failed(event, words) {
  const form = event.detail.elt;
  for (const button of form.querySelectorAll?.("[aria-busy]") ?? []) {
    button.textContent = button.dataset.was;
    button.removeAttribute("aria-busy");
  }
  const note = form.querySelector?.(".not-sent");
  if (note) { note.hidden = false; note.textContent = words; }
}

const NO_ANSWER = "Not saved: no answer. Save again; it is stored once.";
document.addEventListener("htmx:sendError", (event) => failed(event, NO_ANSWER));
document.addEventListener("htmx:timeout", (event) => failed(event, NO_ANSWER));
document.addEventListener("htmx:responseError", (event) => {
  const { status } = event.detail.xhr;
  failed(event, status === 403
    ? "Not saved: this sign-in may not save it. Sign in again in another tab, then save."
    : "Not saved: the server could not take it. Save again; it is stored once.");
});
