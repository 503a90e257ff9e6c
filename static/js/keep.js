// What the sheet keeps over an update: what was folded out, and what is new.
const folded = () => document.querySelectorAll("#live details[open]");
let open = folded();
let seen = newest();
let words = verdicts();

function newest() {
  return Math.max(0, ...[...document.querySelectorAll("[data-seq]")].map((n) => Number(n.dataset.seq)));
}

function verdicts() {
  return Object.fromEntries([...document.querySelectorAll("[data-word]")].map((n) => [n.id, n.dataset.word]));
}

function mark() {
  for (const line of document.querySelectorAll(".log [data-seq]")) {
    line.classList.toggle("new", Number(line.dataset.seq) > seen);
  }
  for (const row of document.querySelectorAll("[data-word]")) {
    row.classList.toggle("new", words[row.id] !== undefined && words[row.id] !== row.dataset.word);
  }
}

document.addEventListener("htmx:beforeSwap", () => {
  open = folded();
});
// Not before it has settled: until then htmx puts the attributes of the old nodes on the new.
document.addEventListener("htmx:afterSettle", () => {
  for (const { id } of open) document.getElementById(id)?.setAttribute("open", "");
  mark();
});
// Whoever touches the sheet has seen it.
function saw() { seen = newest(); words = verdicts(); mark(); }
document.addEventListener("pointerdown", saw);
document.addEventListener("keydown", saw);
