// Nothing moves under the finger: while something is pressed no news is put in, and a
// Heard that came to stand where another stood a moment ago is not taken for it.
const SETTLE = 700; // ms; longer than it takes to see that something changed
let pressed = false;
let missed = false;

document.addEventListener("pointerdown", () => { pressed = true; }, true);
for (const end of ["pointerup", "pointercancel"]) {
  document.addEventListener(end, () => setTimeout(() => {
    pressed = false;
    if (missed) document.body.dispatchEvent(new Event("entry-saved"));
    missed = false;
  }, 300), true);
}

document.addEventListener("htmx:beforeSwap", (event) => {
  if (event.target.id !== "live" || !pressed) return;
  event.detail.shouldSwap = false;
  missed = true;
});

const heard = () => [...document.querySelectorAll("#alarms .heard")];
const fresh = new Set();
let before = heard().map((button) => button.id);

function show() {
  for (const button of heard()) button.toggleAttribute("data-fresh", fresh.has(button.id));
}

document.addEventListener("htmx:afterSwap", (event) => {
  if (event.target.id !== "live") return;
  const now = heard().map((button) => button.id);
  now.forEach((id, place) => {
    if (before[place] === id) return;
    fresh.add(id);
    setTimeout(() => { fresh.delete(id); show(); }, SETTLE);
  });
  before = now;
  show();
});
// Settling puts the old attributes back.
document.addEventListener("htmx:afterSettle", show);

document.addEventListener("click", (event) => {
  // A press of a key (detail 0) is of the button that has the focus, wherever it stands.
  if (!event.detail || !event.target.closest?.("[data-fresh]")) return;
  event.preventDefault();
  event.stopImmediatePropagation();
}, true);
