// The button says what it saves, so that the last look before the tap is a check.
/** @param {Figure} node */
function said({ type, checked, value, dataset: { say, unit }, form }) {
  if (type === "radio" || type === "checkbox") return checked && value ? say : "";
  if (!value.trim()) return "";
  const shown = unit.startsWith("name:")
    ? form.querySelector(`[name="${unit.slice(5)}"]:checked`)?.dataset.label
    : unit;
  return [say, value.trim(), shown].filter(Boolean).join(" ");
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
document.addEventListener("click", ({ target }) => {
  if (target.id !== "same-as-last") return;
  for (const [name, figure] of new URLSearchParams(target.dataset.fill)) {
    target.form.elements[name].value = figure;
  }
  tell();
});

document.addEventListener("input", tell);
document.addEventListener("htmx:afterSettle", tell);
tell();
