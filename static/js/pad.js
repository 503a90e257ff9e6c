// A number pad for gloves, in the bar at the thumb, for the figure that has the focus.

// On its side a phone has no room for the pad: there its own keys serve.
const flat = matchMedia("(orientation: landscape) and (max-height: 479px)");
/** @type {Figure | undefined} */
let field;

function close() {
  for (const part of document.querySelectorAll(".pad, .next-figure")) part.remove();
  if (field) field.inputMode = "decimal";
  field = undefined;
}

function type(key = "") {
  if (!field) return;
  if (key === "Next") {
    const figures = [...document.querySelectorAll("[data-pad]")];
    const shown = figures.filter((node) => node.offsetParent);
    const next = shown[shown.indexOf(field) + 1];
    return next ? next.focus() : close();
  }
  if (key === "⌫") field.value = field.value.slice(0, -1);
  else if (key === "−") field.value = `-${field.value}`.replace(/^--/, "");
  else field.value += key;
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

function open() {
  const bar = document.querySelector(".save-bar");
  if (!bar || document.querySelector(".pad")) return;
  bar.prepend(document.getElementById("number-pad").content.cloneNode(true));
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
