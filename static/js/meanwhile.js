// What others decide while a decision is open is said in it, from the lines of the log.
document.addEventListener("htmx:afterSwap", (event) => {
  const form = document.querySelector("#decide form[data-opened]");
  const notice = document.getElementById("meanwhile");
  if (event.target.id !== "live" || !form || !notice) return;
  const { opened, me } = form.dataset;
  for (const line of [...document.querySelectorAll(".log [data-said]")].reverse()) {
    const { seq, by, said } = line.dataset;
    if (Number(seq) <= Number(opened) || by === me) continue;
    if (notice.querySelector(`[data-seq="${seq}"]`)) continue;
    const item = document.createElement("li");
    item.dataset.seq = seq;
    item.textContent = said;
    notice.querySelector("ul")?.append(item);
    notice.hidden = false;
  }
});
