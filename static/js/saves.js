// The button says what it saves, so that the last look before the tap is a check.
/** @param {Figure} node */
function said(node) {
  const { say, unit } = node.dataset;
  if (node.type === "radio" || node.type === "checkbox") return node.checked && node.value ? say : "";
  if (!node.value.trim()) return "";
  const shown = unit.startsWith("name:")
    ? node.form.querySelector(`[name="${unit.slice(5)}"]:checked`)?.dataset.label ?? ""
    : unit;
  return [say, node.value.trim(), shown].filter(Boolean).join(" ");
}

function tell() {
  const form = document.getElementById("reading");
  if (!form) return;
  const words = [...form.querySelectorAll(".fields [data-say]")]
    .filter((node) => !node.closest(".where"))
    .map(said).filter(Boolean).join(", ");
  for (const button of form.querySelectorAll("[data-says]")) {
    button.dataset.plain ??= button.textContent;
    button.textContent = words ? button.dataset.says.replace("{}", words) : button.dataset.plain;
  }
}

// The figures of the last time, one tap; the button that saves then says them.
function offer() {
  const again = document.getElementById("same-as-last");
  if (again) again.hidden = false;
}
document.addEventListener("click", (event) => {
  if (event.target.id !== "same-as-last") return;
  for (const pair of Object.values(event.target.dataset)) {
    const [name, figure] = pair.split(" ");
    event.target.form.elements[name].value = figure;
  }
  tell();
});

document.addEventListener("input", tell);
document.addEventListener("change", tell);
document.addEventListener("htmx:afterSettle", () => { offer(); tell(); });
offer();
tell();
