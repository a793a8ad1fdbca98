// Help with the level, in place: its forms are answered by the server and put where they stand.

export class LevelHelp {
  constructor(root, { step, keep }) {
    this.step = step;
    this.keep = keep;
    this.fold = root.querySelector(".bench-level");
    this.plain = this.panel?.cloneNode(true);
    this.fold?.addEventListener("submit", (event) => this.workOut(event));
    this.fold?.addEventListener("click", (event) => this.take(event));
  }

  get panel() {
    return this.fold?.querySelector("#bench-level-panel");
  }

  async workOut(event) {
    event.preventDefault();
    const asked = new URLSearchParams(new FormData(event.target));
    asked.set("step", this.step());
    asked.set("in_place", "1");
    const address = `${event.target.getAttribute("action")}?${asked}`;
    let fresh = null;
    try {
      const page = await fetch(address, { credentials: "same-origin" });
      fresh = new DOMParser().parseFromString(await page.text(), "text/html").querySelector("#bench-level-panel");
    } catch {
      fresh = null; // no connection: what was typed stays
    }
    if (!fresh) {
      this.tell(event.target, "No answer. What you typed is still here; try again when the connection is back.");
      return;
    }
    this.panel.replaceWith(document.adoptNode(fresh));
    (this.panel.querySelector("[data-working]") ?? this.panel.querySelector("details[open] input[type=text]"))?.focus();
  }

  tell(form, sentence) {
    const place = form.querySelector("[role=alert]") ?? form.insertBefore(document.createElement("p"), form.lastElementChild);
    place.className = "bench-wrong";
    place.setAttribute("role", "alert");
    place.textContent = sentence;
  }

  // A working of a step that was left meanwhile belongs to no reading any more.
  take(event) {
    const button = event.target.closest("[data-working]");
    if (button && button.dataset.ofStep === this.step()) this.keep(button.dataset.figure, button.dataset.working);
  }

  clear() {
    const panel = this.panel;
    if (panel?.querySelector("[data-working]")) panel.replaceWith(this.plain.cloneNode(true));
  }
}
