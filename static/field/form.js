// Opens a form with what is known already: the place, the same again, or one to mend.
import { $, copy, fill, form, open, phone } from "./page.js";
import { keepPhoto } from "./photo.js";
import { all, kept } from "./store.js";
import { refusal } from "./waiting.js";

/** @param {string} kind @param {Fields} [fields] */
export function formPage(kind, fields) {
  const { now, last } = phone;
  open(`form-${kind}`);
  if (now) offer(now.choices, kind);
  const place = last?.fields.place ?? now?.team.place ?? "";
  const { elements } = form();
  for (const [name, value] of Object.entries({ place, sample: "vapour", ...fields })) {
    const field = elements[name];
    if (field?.type === "checkbox") field.checked = Boolean(value);
    else if (field) field.value = value;
  }
  fill({ ".place-words": `${now?.team.name ?? ""}, ${elements.place?.value || "no place"}` });
  if (kind === "gas_meter") sameAsLast();
  document.dispatchEvent(new Event("input"));
}

/** What only this incident has. @param {Now["choices"]} choices @param {string} kind */
function offer({ places, containers, members, instruments }, kind) {
  $("places")?.append(...places.map((place) => new Option("", place)));
  $("containers")?.append(...containers.map((container) => new Option("", container)));
  form().querySelector("[data-members]")?.append(...members.map(([key, name]) => {
    const choice = copy("member");
    const input = choice.querySelector("input");
    input.value = key;
    input.dataset.say = name;
    fill({ ".face": name }, choice);
    return choice;
  }));
  const mine = (instruments[kind] ?? []).map(([key, name]) => new Option(name, key));
  $("id_instrument")?.prepend(...mine);
  if (mine.length) mine[0].selected = true;
}

/** The figures of the last time in one tap; saves.js fills them in. */
async function sameAsLast() {
  const button = $("same-as-last");
  button.dataset.fill = (await kept("figures")) ?? "";
  button.hidden = !button.dataset.fill;
}

/** All but the figure, and whether it was wet: those are read each time. */
export function again() {
  const { last } = phone;
  if (!last) return;
  const carried = document.body.dataset.carried.split(" ");
  const same = Object.entries(last.fields).filter(([name]) => carried.includes(name));
  formPage(last.kind, Object.fromEntries(same));
}

/** Open an entry that was not taken, where it was not. */
export async function mend(n = 0) {
  const entry = (await all()).find((one) => one.n === n);
  phone.mending = entry;
  if (!entry) return;
  formPage(entry.kind, entry.fields);
  keepPhoto(entry);
  fill({ "#not-saved": refusal(entry) });
  const field = form().querySelector(`[name="${entry.errors?.[0]?.[0]}"]`) ?? $("not-saved");
  field.closest("details")?.setAttribute("open", "");
  field.focus();
}
