// What the sheet keeps over an update: what was folded out, and which lines are new.
let open = [];
let seen = newest();

function newest() {
  return Math.max(0, ...[...document.querySelectorAll("[data-seq]")].map((n) => Number(n.dataset.seq)));
}

function mark() {
  for (const line of document.querySelectorAll("[data-seq]")) {
    line.classList.toggle("new", Number(line.dataset.seq) > seen);
  }
}

document.addEventListener("htmx:beforeSwap", () => {
  open = [...document.querySelectorAll("#live details[open]")].map((node) => node.id);
});
document.addEventListener("htmx:afterSwap", () => {
  for (const id of open) document.getElementById(id)?.setAttribute("open", "");
  mark();
});
// Whoever touches the sheet has seen it.
document.addEventListener("pointerdown", () => { seen = newest(); mark(); });
document.addEventListener("keydown", () => { seen = newest(); mark(); });
