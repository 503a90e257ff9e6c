// The server's time on any device, and the clocks that count by it.
// Ages go by performance.now(), which nobody can set; the sample with the least travel wins.
const { clock: url, now, zone } = document.body.dataset;
let base = now ? Date.parse(now) : Date.now();
let taken = now ? 0 : performance.now();
let least = Infinity;

window.serverNow = () => base + performance.now() - taken;

async function ask() {
  const sent = performance.now();
  try {
    const reply = await fetch(url, { cache: "no-store" });
    const there = Date.parse((await reply.json()).now);
    const got = performance.now();
    if (got - sent <= least) {
      least = got - sent;
      base = there + (got - sent) / 2;
      taken = got;
    }
    document.dispatchEvent(new Event("answered"));
  } catch {
    // link.js says how long there has been no answer.
  }
}

const two = (number) => String(number).padStart(2, "0");

function span(ms) {
  const seconds = Math.floor(ms / 1000);
  const [h, m, s] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, seconds % 60];
  return h ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`;
}

const wall = new Intl.DateTimeFormat("en-GB", {
  timeZone: zone || "UTC", hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23",
});
window.wallTime = (ms) => wall.format(ms);

function put(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

function draw() {
  const at = window.serverNow();
  const shown = document.getElementById("clock");
  if (shown) put(shown, wall.format(at));
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
// The sheet polls anyway; elsewhere this is also how a page knows of its link.
setInterval(ask, document.getElementById("live") ? 60000 : 4000);
ask();
document.addEventListener("htmx:afterSwap", draw);
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible") { least = Infinity; ask(); }
});
