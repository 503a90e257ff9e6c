// The running clocks of the sheet, drawn from the moments they count from or to.
/** @param {number} number */
const two = (number) => String(number).padStart(2, "0");

/** @param {number} ms */
function span(ms) {
  const seconds = Math.floor(ms / 1000);
  const [h, m, s] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, seconds % 60];
  if (h > 99) return ">99 h";
  return h ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`;
}

/** @param {HTMLElement} node @param {string} text */
function put(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

function draw() {
  const [end] = document.querySelectorAll("[data-end]");
  const at = end ? Date.parse(end.dataset.end) : window.serverNow();
  for (const node of document.querySelectorAll("[data-since]")) {
    put(node, span(Math.max(0, at - Date.parse(node.dataset.since))));
  }
  for (const node of document.querySelectorAll("[data-until]")) {
    const left = Date.parse(node.dataset.until) - at;
    put(node, left > 0 ? span(left) : node.dataset.over || "passed");
    node.classList.toggle("over", left <= 0);
  }
}

draw();
setInterval(draw, 250);
document.addEventListener("htmx:afterSwap", draw);
