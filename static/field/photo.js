// Photos: made small and bare, named by their hash in an entry, sent after it. The bytes
// leave the phone only when the post has them.
import { all, drop, kept, put } from "./store.js";

const MOST = 480_000; // bytes: a weak link has to carry it
const STEPS = [[1600, 0.8], [1600, 0.6], [1200, 0.6], [800, 0.6]]; // longest side, quality
const NAMES = ["photo_sha256", "photo_type", "photo_size", "photo_original"];

/** @type {any} */
let chosen; // what the camera gave to the open form

/** @param {Blob} blob */
async function hashOf(blob) {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", await blob.arrayBuffer()));
  return [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** A JPEG of the picture, upright, and nothing else. @param {any} canvas @param {Blob} file */
async function scaled(canvas, file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  let blob;
  for (const [longest, quality] of STEPS) {
    const scale = Math.min(1, longest / Math.max(picture.width, picture.height));
    canvas.width = Math.ceil(picture.width * scale);
    canvas.height = Math.ceil(picture.height * scale);
    const context = canvas.getContext("2d");
    context.imageSmoothingQuality = "high";
    context.drawImage(picture, 0, 0, canvas.width, canvas.height);
    blob = await new Promise((done) => { canvas.toBlob(done, "image/jpeg", quality); });
    if (blob.size <= MOST) break;
  }
  picture.close();
  return blob;
}

/** Name it in its form; gives the bytes, none for what is no picture. @param {any} form @param {File} file */
async function make(form, file) {
  const [words, canvas] = ["words", "shown"].map((name) => form.querySelector(`#photo-${name}`));
  words.textContent = "Making it smaller …";
  fill(form, []);
  try {
    const original = file.size <= ((await kept("now"))?.photo_original ?? 0) && /^image\/(jpeg|png|webp)$/.test(file.type);
    const small = await scaled(canvas, file); // to be seen, too
    const blob = original ? file : small;
    fill(form, [await hashOf(blob), blob.type, blob.size, original ? "yes" : ""]);
    words.textContent = `${Math.ceil(blob.size / 1000)} kB. ${original ? "As the camera made it, with time, place and device: the SOP keeps that." : "What the camera wrote into it is left out."}`;
    canvas.hidden = false;
    return blob;
  } catch {
    canvas.hidden = true;
    // Over plain http a browser makes no hash, and without one nothing names the photo.
    words.textContent = crypto.subtle
      ? "This is no picture that this phone can read. Take it again."
      : "No photo without https that this phone trusts: ask for the authority's page.";
    return undefined;
  }
}

/** @param {any} form @param {any[]} values */
const fill = (form, values) => NAMES.forEach((name, at) => { form.elements[name].value = values[at] ?? ""; });

/** The form's bytes, once they are made; else those of what it mends. @param {any} form @param {any} before */
export const photoOf = async (form, before) => (chosen?.form === form ? chosen.made : before?.photo);

/** What keeps it from being saved. @param {Record<string, string>} fields */
export const photoLack = ({ photo_sha256: taken, shows }) => (!taken ? "Take the photo first." : shows ? "" : "Say what it shows.");

/** To mend an entry its photo stays, unless that was what was refused. @param {any} form @param {Entry} entry */
export function keepPhoto(form, entry) {
  if (!entry.photo) return;
  const wrong = entry.errors?.some(([name]) => name.startsWith("photo"));
  if (wrong) { delete entry.photo; fill(form, []); }
  form.querySelector("#photo-words").textContent = wrong ? "Take it again." : "The photo is kept.";
}

/** Those whose entries the post has, one by one, by one tab. @param {any} place @param {any} request @param {any} tell */
export const sendPhotos = async (place, request, tell) => navigator.locks?.request("photos", { ifAvailable: true }, async (lock) => {
  for (const entry of lock ? await all() : []) {
    if (entry.state === "photo" && entry.incident === place.incident && entry.team === place.team) tell(await sent(entry, request));
  }
});

/** @param {any} entry @param {any} request */
async function sent(entry, request) {
  const { photo, fields, uuid } = entry;
  const reply = await request(document.body.dataset.photoUrl, {
    method: "POST", body: photo,
    signal: AbortSignal.timeout(20_000 + photo.size / 6), // a link below 6 kB/s is none
    headers: { "Content-Type": fields.photo_type, "X-Worksheet-Entry": uuid },
  });
  const answer = await reply.json();
  if (answer.state === "refused") {
    await put({ ...entry, state: "refused", errors: answer.errors });
    return { entry, answer };
  }
  if (answer.sha256 !== fields.photo_sha256) throw new Error(String(reply.status));
  await drop(entry.n);
  return {};
}

/** Beside the file of entries: a photo is a file of its own. @param {any[]} entries */
export function savePhotos(entries) {
  for (const { photo, fields } of entries.filter((each) => each.photo)) {
    const download = `photo-${fields.photo_sha256.slice(0, 16)}.${photo.type.slice(6)}`;
    Object.assign(document.createElement("a"), { href: URL.createObjectURL(photo), download }).click();
  }
}

document.addEventListener("change", ({ target }) => {
  if (!(target instanceof HTMLInputElement) || target.id !== "photo-file" || !target.files?.[0]) return;
  const { form, files: [file] } = target;
  const before = Promise.resolve(chosen?.made); // one at a time: they share the canvas
  chosen = { form, made: before.then(() => make(form, file)) };
});
