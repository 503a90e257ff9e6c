// Sound and vibration for what is not heard. Heard ends them, on every page at its next
// poll; waiting does not. While the browser lets no page sound, the head says so.
const EVERY = 5000;
const PATTERNS = {
  stop: { tones: [800, 800], shake: [300, 150, 300] },
  withdraw: { tones: [1000, 750, 1000, 750], shake: [500, 100, 500, 100, 500] },
  mayday: { tones: [700, 850, 1000, 1150, 1000], shake: [1000, 100, 1000] },
};
const WANTED = "sound";
const button = document.getElementById("sound");
const aloud = document.getElementById("new-alarm");
const unheard = () => [...document.querySelectorAll("[data-alarm]")];
const names = () => new Set(unheard().map((alarm) => alarm.dataset.alarm));
let known = names();
/** @type {AudioContext} */
let context;
let last = 0;

function running() { return context?.state === "running"; }

function show() {
  button.textContent = running() ? "Sound on" : "Sound off: turn on";
  button.setAttribute("aria-pressed", running());
}

/** @param {number} hertz @param {number} start */
function tone(hertz, start) {
  const [oscillator, gain] = [context.createOscillator(), context.createGain()];
  oscillator.type = "square";
  oscillator.frequency.value = hertz;
  for (const [after, level] of [[0, 0], [.02, .5], [.23, .5], [.25, 0]]) {
    gain.gain.linearRampToValueAtTime(level, start + after);
  }
  oscillator.connect(gain).connect(context.destination);
  oscillator.start(start);
  oscillator.stop(start + .25);
}

/** @param {Pattern} name */
function play(name) {
  last = performance.now();
  if (!running()) return;
  const { tones, shake } = PATTERNS[name];
  tones.forEach((hertz, place) => tone(hertz, context.currentTime + place * .3));
  navigator.vibrate?.(shake);
}

// The list is in order of urgency: the first decides what is heard.
function look() {
  const alarms = unheard();
  const fresh = alarms.filter((alarm) => !known.has(alarm.dataset.alarm));
  known = names();
  if (fresh.length) aloud.textContent = fresh[0].textContent.replace(/\s+/g, " ").trim();
  if (!alarms.length) return navigator.vibrate?.(0);
  if (fresh.length || performance.now() - last >= EVERY) play(alarms[0].dataset.pattern);
}

async function turnOn() {
  context ??= new AudioContext();
  context.onstatechange = show;
  await context.resume();
  sessionStorage.setItem(WANTED, "on");
  show();
  if (unheard().length) look();
  else tone(800, context.currentTime); // so that one hears that it works
}

button.hidden = false;
button.addEventListener("click", () => {
  if (!running()) return turnOn();
  if (unheard().length) return; // only Heard ends it
  sessionStorage.removeItem(WANTED);
  context.suspend();
});
// After a reload the first touch anywhere turns it on again.
document.addEventListener("pointerup", () => {
  if (sessionStorage.getItem(WANTED) && !running()) turnOn();
});
document.addEventListener("htmx:afterSwap", (event) => { if (event.target.id === "live") look(); });
setInterval(look, 500);
show();
