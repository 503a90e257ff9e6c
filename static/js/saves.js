// The button says what it saves, so that the last look before the tap is a check.
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

document.addEventListener("input", tell);
document.addEventListener("change", tell);
document.addEventListener("htmx:afterSettle", tell);
tell();
