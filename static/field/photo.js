// Photos: made small and bare on the phone, and named by their hash in an entry.
import { hex } from "./device.js";
import { fill, form, phone, words } from "./page.js";

const MOST = 480_000; // bytes: a weak link has to carry it
const STEPS = [[1600, 0.8], [1600, 0.6], [1200, 0.6], [800, 0.6]]; // longest side, quality
const NAMES = ["photo_sha256", "photo_type", "photo_size", "photo_original"];

/** @type {Photos} */
const taken = new WeakMap();

/** A bare JPEG of the picture, upright. @param {Canvas} canvas @param {Blob} file */
async function scaled(canvas, file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const context = canvas.getContext("2d");
  let blob = file;
  for (const [longest, quality] of STEPS) {
    const scale = Math.min(1, longest / Math.max(picture.width, picture.height));
    canvas.width = Math.ceil(picture.width * scale);
    canvas.height = Math.ceil(picture.height * scale);
    context.imageSmoothingQuality = "high";
    context.drawImage(picture, 0, 0, canvas.width, canvas.height);
    blob = await new Promise((done) => { canvas.toBlob(done, "image/jpeg", quality); });
    if (blob.size <= MOST) break;
  }
  picture.close();
  return blob;
}

/** Name it in its form and give its bytes. @param {HTMLFormElement} reading @param {File} file */
async function make(reading, file) {
  const canvas = reading.querySelector("canvas");
  const tell = (text = "") => fill({ "#photo-words": text }, reading);
  tell("Making it smaller …");
  canvas.hidden = false; // at once: later it would push away what a thumb is on its way to
  claim(reading, []);
  try {
    const allowed = file.size <= (phone.now?.photo_original ?? 0);
    const original = allowed && /^image\/(jpeg|png|webp)$/.test(file.type);
    const small = await scaled(canvas, file); // to be seen, too
    const blob = original ? file : small;
    const hash = await crypto.subtle.digest("SHA-256", await blob.arrayBuffer());
    claim(reading, [hex(new Uint8Array(hash)), blob.type, blob.size, original ? "yes" : ""]);
    tell(`${Math.ceil(blob.size / 1000)} kB. ${words(original ? "photo-whole" : "photo-bare")}`);
    return blob;
  } catch {
    canvas.hidden = true;
    // Over plain http a browser makes no hash, and without one nothing names the photo.
    tell(words(crypto.subtle ? "no-picture" : "no-hash"));
  }
}

/** @param {HTMLFormElement} reading @param {unknown[]} values */
function claim(reading, values) {
  NAMES.forEach((name, at) => { reading.elements[name].value = values[at] ?? ""; });
}

export const photoTaken = () => taken.get(form());

/** To mend an entry its photo stays, unless that was what was refused. @param {Entry} entry */
export function keepPhoto({ photo, errors = [] }) {
  if (!photo) return;
  const wrong = errors.some(([name]) => name.startsWith("photo"));
  if (wrong) claim(form(), []);
  else taken.set(form(), Promise.resolve(photo));
  fill({ "#photo-words": words(wrong ? "photo-again" : "photo-kept") });
}

document.addEventListener("change", ({ target: { id, form: reading, files } }) => {
  if (id !== "photo-file" || !files?.[0]) return;
  const [file] = files;
  const before = Promise.resolve(taken.get(reading)); // one at a time: they share the canvas
  taken.set(reading, before.then(() => make(reading, file)));
});
