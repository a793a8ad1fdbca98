// The walk as the page shows it: which step is asked, which are done, which wait to be sent.

export class Walk {
  constructor(root) {
    this.root = root;
    const inOrder = (one, other) => one.dataset.number - other.dataset.number;
    const lines = [...root.querySelectorAll("[data-line]")].sort(inOrder);
    this.lines = new Map(lines.map((line) => [line.dataset.line, line]));
    this.done = new Set(
      [...this.lines].filter(([, line]) => !line.classList.contains("todo")).map(([key]) => key),
    );
    this.step = root.dataset.step;
  }

  get code() {
    return this.step.slice(0, this.step.lastIndexOf("-"));
  }

  words(key) {
    return this.root.querySelector(`[data-step="${CSS.escape(key)}"]`)?.dataset.words ?? key;
  }

  // The first step that is neither done nor among those that wait to be sent.
  next(waiting) {
    return [...this.lines.keys()].find((key) => !this.done.has(key) && !waiting.has(key)) ?? "";
  }

  show(key) {
    this.step = key;
    this.root.dataset.step = key;
    this.only("[data-step]", "step", key);
    this.only("[data-how]", "how", key);
    const right = key.endsWith("-R");
    for (const drawing of this.root.querySelectorAll("[data-drawing]")) {
      drawing.hidden = (drawing.dataset.drawing === "R") !== right;
      this.mark(drawing);
    }
    this.offerSkip(key);
    for (const [name, line] of this.lines) {
      const link = line.querySelector("a");
      if (name === key) link.setAttribute("aria-current", "step");
      else link.removeAttribute("aria-current");
    }
  }

  // A half that cannot be read may be noted as such.
  offerSkip(key) {
    const fold = this.root.querySelector(".bench-unread");
    if (!fold) return;
    const words = this.words(key);
    fold.hidden = !this.root.querySelector(`[data-step="${CSS.escape(key)}"][data-can-skip]`);
    fold.querySelector("[name=step]").value = key;
    fold.querySelector(".bench-unread-words").textContent = words[0].toUpperCase() + words.slice(1);
  }

  only(selector, name, key) {
    for (const part of this.root.querySelectorAll(selector)) {
      if (part !== this.root) part.hidden = part.dataset[name] !== key;
    }
  }

  mark(drawing) {
    for (const group of drawing.querySelectorAll(".pom")) {
      const active = group.dataset.point === this.code;
      group.classList.toggle("is-active", active);
      if (active) group.parentNode.append(group); // drawn last, so that no other line crosses the mark
    }
  }

  setWaiting(waiting) {
    for (const [key, line] of this.lines) line.classList.toggle("waiting", waiting.has(key));
  }

  setDone(keys, marks, repeat) {
    for (const key of keys) this.done.add(key);
    for (const [key, line] of this.lines) {
      if (this.done.has(key)) line.classList.remove("todo");
      if (marks[key] !== undefined) {
        line.querySelector(".walk-mark").innerHTML = marks[key];
        line.classList.toggle("again", key === repeat);
        line.classList.toggle("done", key !== repeat);
        line.querySelector(".walk-words").textContent = key === repeat ? "again" : "done";
        line.querySelector("a").href = `${this.root.dataset.sendTo}#${key}`;
      }
    }
    for (const place of this.root.querySelectorAll("[data-both]")) {
      const both = marks[`${place.dataset.both}-D`];
      if (both !== undefined) place.innerHTML = both;
    }
    const count = this.root.querySelector("#bench-count");
    if (count) count.textContent = String(this.done.size);
    const progress = this.root.querySelector("#bench-progress");
    if (progress) progress.value = this.done.size;
  }
}
