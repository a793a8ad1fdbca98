// Moves the progress bar while a document is made, and shows the page anew when it is over.
// Without this script the page's "Look again" link does the same by hand.
const box = document.querySelector("[data-progress]");

async function look() {
  try {
    const answer = await fetch(box.dataset.progress, { headers: { Accept: "application/json" } });
    if (!answer.ok) throw new Error(String(answer.status));
    const job = await answer.json();
    if (job.state === "done" || job.state === "failed") {
      window.location.reload();
      return;
    }
    const bar = box.querySelector("progress");
    if (job.total) {
      bar.max = job.total;
      bar.value = job.done;
      box.querySelector("label").textContent = `Being made: sheet ${job.done} of ${job.total}`;
    }
  } catch {
    // The connection is away for a moment: the next look tells.
  }
  window.setTimeout(look, 1000);
}

if (box) look();
