// A number pad for gloves, in the bar at the thumb, for the figure that has the focus.
const KEYS = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "0", ".", "⌫", "−"];
// On its side a phone has no room for the pad: there its own keys serve.
const flat = matchMedia("(orientation: landscape) and (max-height: 479px)");
/** @type {Record<string, string>} */
const NAMES = { "⌫": "Delete", "−": "Minus", ".": "Point" };
/** @type {Figure | undefined} */
let field;

const figures = () => [...document.querySelectorAll("[data-pad]")].filter((node) => node.offsetParent);

function close() {
  document.querySelector(".pad")?.remove();
  document.querySelector(".next-figure")?.remove();
  if (field) field.inputMode = "decimal";
  field = undefined;
}

/** @param {string} key */
function type(key) {
  if (!field) return;
  if (key === "Next") {
    const all = figures();
    const next = all[all.indexOf(field) + 1];
    return next ? next.focus() : close();
  }
  if (key === "⌫") field.value = field.value.slice(0, -1);
  else if (key === "−") field.value = field.value.startsWith("-") ? field.value.slice(1) : `-${field.value}`;
  else field.value += key;
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

function open() {
  const bar = document.querySelector(".save-bar");
  if (!bar || document.querySelector(".pad")) return;
  const pad = document.createElement("div");
  pad.className = "pad";
  pad.setAttribute("role", "group");
  pad.setAttribute("aria-label", "Number pad");
  for (const key of KEYS) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = key;
    button.dataset.key = key;
    if (NAMES[key]) button.setAttribute("aria-label", NAMES[key]);
    pad.append(button);
  }
  const next = document.createElement("button");
  next.type = "button";
  next.className = "button next-figure";
  next.textContent = next.dataset.key = "Next";
  bar.prepend(pad, next);
}

// Only for fingers: who has keys under the hand keeps them.
let finger = false;
document.addEventListener("pointerdown", (event) => {
  finger = event.pointerType !== "mouse" && !flat.matches;
  if (finger && event.target.matches?.("[data-pad]")) event.target.inputMode = "none";
  if (event.target.closest?.(".pad, .next-figure")) event.preventDefault();
});

/** @param {Figure} figure */
function take(figure) {
  field = figure;
  const pad = document.querySelector(".pad");
  if (!pad) return;
  field.inputMode = "none";
  field.scrollIntoView({ block: "center" });
  pad.querySelector('[data-key="−"]').hidden = field.dataset.pad !== "signed";
}

document.addEventListener("focusin", (event) => {
  if (event.target.matches?.("[data-pad]")) take(event.target);
  else if (!event.target.closest?.(".save-bar")) close(); // nothing moves under the thumb on Save
});

// The pad comes with the click, the last event of a tap, so that no key slides under it.
document.addEventListener("click", (event) => {
  const key = event.target.closest?.("[data-key]");
  if (key && field) type(key.dataset.key);
  else if (finger && event.target.matches?.("[data-pad]")) {
    open();
    take(event.target);
  }
});
