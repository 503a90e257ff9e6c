// [ and ] go through the records of a table, while the keyboard is in it or in the chart.
const table = document.querySelector("[data-steps]");

/** @param {KeyboardEvent} event */
function step(event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const by = { "[": -1, "]": 1 }[event.key];
  const links = [...document.querySelectorAll("[data-steps] a.record")];
  if (!by || !links.length) return;
  const row = document.activeElement?.closest("tr");
  const now = links.findIndex((link) => link.closest("tr") === row);
  const next = now < 0 ? 0 : Math.min(links.length - 1, Math.max(0, now + by));
  links[next].focus();
  event.preventDefault();
}

if (table) {
  for (const place of [table, ...document.querySelectorAll("figure.chart")]) {
    place.addEventListener("keydown", step);
  }
}
