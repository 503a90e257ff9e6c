// The open page: what its modules know together, and its HTML, copied and filled with words.

/** @type {Phone} */
export const phone = { link: "none" };

/** What the page is known to have. */
export const $ = (id = "") => /** @type {HTMLElement} */ (document.getElementById(id));

/** The form that is open; there is one at a time. */
export const form = () => /** @type {HTMLFormElement} */ ($("reading"));

/** What a template of shell.html holds. */
export function copy(template = "") {
  const { content } = /** @type {HTMLTemplateElement} */ ($(template));
  return document.importNode(content, true);
}

/** A sentence of field/words.html, with a value for each {}. @param {unknown[]} values */
export function words(name = "", ...values) {
  const text = copy(`words-${name}`).textContent ?? "";
  return text.trim().replace(/{}/g, () => String(values.shift()));
}

/** Put text where each selector points, if that is there. @param {Record<string, string>} texts */
export function fill(texts, within = /** @type {ParentNode} */ (document)) {
  for (const [selector, text] of Object.entries(texts)) {
    within.querySelector(selector)?.replaceChildren(text);
  }
}

export function open(page = "") {
  $("main").replaceChildren(copy(page));
  window.scrollTo(0, 0);
  refresh();
}

/** Show what the phone knows now: each module listens for what it shows. */
export const refresh = () => document.dispatchEvent(new Event("refresh"));

/** For who cannot see the screen. */
export const say = (text = "") => fill({ "#alarm": text });
