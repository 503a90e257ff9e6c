// What a reading means: the phone's own answer to one, and the post's verdict for the team.
import { vibrate } from "./device.js";
import { $, copy, fill, open, phone, say, words } from "./page.js";
import { ago, clock } from "./time.js";
import { judge } from "./warn.js";

/** @param {Entry} entry */
export function answerPage({ kind, fields, words: read, uuid }) {
  const { now, table } = phone;
  const photo = kind === "note";
  const found = table && !photo ? judge(table, kind, fields, now?.team.ensemble) : [];
  const { word = "continue", title = "", action = 0 } = found[0] ?? {};
  open("page-answer");
  const verdict = $("answer-verdict");
  verdict.hidden = photo;
  verdict.classList.add(word);
  verdict.prepend(copy(`sign-${word}`));
  fill({
    "#answer-word": action ? capital(word) : words(photo ? "photo-saved" : "nothing-found"),
    ".when": clock(),
    ".computed": photo ? words("not-judged") : computed(),
    ".say-back b": [read, fields.place].filter(Boolean).join(", "),
  });
  $("found").append(...found.map((one) => {
    const line = copy("finding");
    fill({ ".what": `${capital(one.word)}: ${one.title}.`, ".advice": one.advice.join(" ") }, line);
    return line;
  }));
  $("answer").dataset.uuid = uuid;
  $("answer").focus();
  if (action >= 2) vibrate(action);
  say(action ? `${capital(word)}. ${title}.` : "");
}

const capital = (word = "") => word[0].toUpperCase() + word.slice(1);

function computed() {
  const { now, table } = phone;
  if (!table || !now) return words("cannot-judge");
  const last = now.verdict ? `${now.verdict.label}, ${ago(now.at)}` : "none yet";
  return words("computed", now.team.wears || "unknown dress", last);
}

let shown = ""; // why the verdict that is to be seen stands

// A withdraw fills the head until somebody says it was understood.
document.addEventListener("refresh", () => {
  const verdict = phone.now?.verdict;
  const box = $("standing");
  box.hidden = !verdict || Boolean($("join-words"));
  if (!verdict || box.hidden) return;
  const { word, label, because, advice, gaps } = verdict;
  const urgent = word === "withdraw" && phone.heard !== because;
  if (urgent && shown !== because) {
    vibrate(3);
    say(`Withdraw. ${because}`);
  }
  shown = because;
  box.className = `verdict ${word}${urgent ? " unheard" : ""}`;
  const why = [because.replace(/\.?$/, "."), ...advice, gaps];
  fill({ ".word": label, ".why": why.filter(Boolean).join(" ") }, box);
});
