/* Follows background work: asks how far it is, and opens the page again when it is over. */

const EVERY_MS = 1000;

const box = document.querySelector("[data-progress-url]");
const bar = box.querySelector("progress");
const words = box.querySelector("[data-progress-words]");

async function look() {
  try {
    const answer = await fetch(box.dataset.progressUrl, { headers: { Accept: "application/json" } });
    if (answer.ok) {
      const state = await answer.json();
      if (state.over) {
        window.location.reload();
        return;
      }
      bar.value = state.percent;
      if (words.textContent !== state.words) {
        words.textContent = state.words;
      }
    }
  } catch {
    // The server may be starting anew; the next look will tell.
  }
  window.setTimeout(look, EVERY_MS);
}

window.setTimeout(look, EVERY_MS);
