// What the line says is asked of the server while it is typed; Tab takes what is offered.
const WAIT = 120;
let timer = 0;
let asked = 0;

const line = () => document.getElementById("id_line");
const under = () => document.getElementById("understood");

async function ask() {
  const mine = ++asked;
  const query = new URLSearchParams({ line: line().value });
  const answer = await fetch(`${under().dataset.from}?${query}`, { headers: { "HX-Request": "true" } });
  // A later letter has asked again: this answer is old.
  if (mine !== asked || !answer.ok) return;
  under().innerHTML = await answer.text();
}

// What was shown is no longer what is typed: it must be shown again before it is saved.
function typed() {
  const shown = under().querySelector("[name='shown']");
  if (shown) shown.value = "";
  clearTimeout(timer);
  timer = setTimeout(() => ask().catch(() => {}), WAIT);
}

/** @param {string} words */
function take(words) {
  const field = line();
  const end = field.value.length;
  const begun = field.value.slice(field.value.search(/\S*$/));
  const finishes = begun && words.toLowerCase().startsWith(begun.toLowerCase());
  field.value = `${finishes ? field.value.slice(0, end - begun.length) : field.value}${words} `;
  typed();
}

document.addEventListener("input", (event) => { if (event.target === line()) typed(); });
document.addEventListener("keydown", (event) => {
  if (event.target !== line() || event.key !== "Tab" || event.shiftKey) return;
  const first = under().querySelector(".may-follow kbd");
  if (!first || !line().value.trim()) return;
  event.preventDefault();
  take(first.textContent);
});
document.addEventListener("htmx:afterSettle", (event) => {
  if (event.target.id === "radio" || event.target.querySelector?.("#radio")) line()?.focus();
});
