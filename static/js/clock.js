// The server's time on any device.
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

const wall = new Intl.DateTimeFormat("en-GB", {
  timeZone: zone || "UTC", hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23",
});
window.wallTime = (ms) => wall.format(ms);

function draw() {
  const shown = document.getElementById("clock");
  if (shown) shown.textContent = wall.format(window.serverNow());
}

draw();
setInterval(draw, 500);
// The sheet polls anyway; elsewhere this is also how a page knows of its link.
setInterval(ask, document.getElementById("live") ? 60000 : 4000);
ask();
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible") { least = Infinity; ask(); }
});
