// A display on the wall does not go dark by itself, where the browser lets it stay awake.
async function stay() {
  try {
    await navigator.wakeLock?.request("screen");
  } catch {
    // The device decides; the page is the same.
  }
}
document.addEventListener("visibilitychange", () => { if (!document.hidden) stay(); });
stay();
