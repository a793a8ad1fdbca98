// The bench page. What the screen asks for is what a figure is stored as, whatever the connection does.
//
// A figure is put into the queue, sent, and the box asks for the next step. An answer that comes at once may
// change what is asked (a question, a repeat); one that comes late never changes it under the person's hands:
// it waits for the next Enter. Everything but the plain walk is drawn by the server and put in place whole.

import * as queue from "./queue.js";
import * as speech from "./speech.js";
import { LevelHelp } from "./level.js";
import { Sender } from "./sender.js";
import { Status } from "./status.js";
import { Walk } from "./walk.js";

const AT_ONCE_MS = 1000;
const FLICKER_MS = 150; // an answer within this time is drawn instead of the next step, not after it
const BOUNCE_MS = 500; // a pedal that bounces sends Enter twice
const HABIT_MS = 1000; // an Enter, or the rest of "keep", that follows a K by habit

class Bench {
  constructor() {
    this.sender = null;
    this.late = ""; // the page that a late answer asks for, opened at the next Enter
    this.latest = ""; // key of the figure typed last
    this.enteredAt = 0;
    this.keptAt = -Infinity;
    this.heldSlip = null;
    this.extra = {}; // what a figure that is typed again brings along
    this.replaces = "";
    this.place(document.querySelector("#bench"));
    this.sender = new Sender({
      person: this.root.dataset.person,
      address: this.root.dataset.address,
      answered: (entry, answer) => this.answered(entry, answer),
      refused: (entry) => this.refused(entry),
      changed: () => this.changed(),
    });
    this.status = new Status(this.root.querySelector("#bench-status"), this.sender, this.statusOptions());
    this.changed();
    this.skipWaiting();
    addEventListener("focus", () => this.focus());
    document.addEventListener("keydown", (event) => this.strayKey(event));
    document.addEventListener("keydown", (event) => this.habitKey(event), { capture: true });
    addEventListener("beforeunload", (event) => this.asksToStay() && event.preventDefault());
  }

  // --- the page in place -----------------------------------------------------------------------------

  place(root) {
    this.root = root;
    this.walk = new Walk(root);
    this.form = root.querySelector("#bench-entry");
    this.box = root.querySelector("#reading");
    this.asks = root.dataset.ask;
    this.extra = {};
    this.replaces = "";
    this.heldSlip = null;
    this.form?.addEventListener("submit", (event) => this.submit(event));
    this.box?.addEventListener("input", () => this.keepByKey());
    root.querySelector("#bench-keep")?.addEventListener("submit", (event) => this.submit(event));
    root.querySelector("#tape")?.addEventListener("change", () => this.focus());
    this.placeSpeech();
    this.level = new LevelHelp(root, { step: () => this.walk.step, keep: (figure, working) => this.takeWorking(figure, working) });
    this.focus();
  }

  // A working goes with the next figure; the figure is the person's to send.
  takeWorking(figure, working) {
    if (!this.form || !this.box) return;
    this.setHidden("working", working);
    if (figure) this.box.value = figure;
    this.takeNote(figure ? "Enter stores this figure with its working." : "The working is kept with the figure you type now.");
    this.box.focus();
  }

  // Leaving would lose figures, or lead to a page that cannot be loaded while the connection is cut.
  asksToStay() {
    return queue.atRisk() || (this.sender.cut && !this.sender.signedOut && this.sender.waiting().length > 0);
  }

  statusOptions() {
    return {
      piece: this.root.dataset.piece,
      again: (entry) => this.typeAgain(entry),
      inHand: () => this.replaces,
    };
  }

  placeSpeech() {
    const button = this.root.querySelector("#bench-speak");
    if (!button || !speech.isPossible()) return;
    button.parentNode.hidden = false;
    button.setAttribute("aria-pressed", String(speech.isOn()));
    button.addEventListener("click", () => {
      speech.choose(!speech.isOn());
      button.setAttribute("aria-pressed", String(speech.isOn()));
      speech.say(this.walk.step ? this.walk.words(this.walk.step) : "", { now: true });
      this.focus();
    });
  }

  // Fetch a page of the bench and put its inner part in place of this one.
  async swap(address) {
    let fresh = null;
    try {
      const page = await fetch(address, { credentials: "same-origin" });
      const text = await page.text();
      fresh = new DOMParser().parseFromString(text, "text/html").querySelector("#bench");
      if (!fresh) {
        location.assign(address); // judged, signed out, or gone: let the browser show what there is
        return;
      }
    } catch {
      this.late = address; // no connection: asked again with the next answer
      this.carryOn();
      return;
    }
    this.root.replaceWith(document.adoptNode(fresh));
    this.late = "";
    this.place(document.querySelector("#bench"));
    this.status = new Status(this.root.querySelector("#bench-status"), this.sender, this.statusOptions());
    this.changed();
    this.skipWaiting();
    this.sayStep();
  }

  focus() {
    (this.box ?? this.root.querySelector("[autofocus]"))?.focus({ preventScroll: false });
  }

  // A tape that types, while the focus is elsewhere on the page: the figure belongs in the box.
  strayKey(event) {
    const busy = event.target.closest?.("input, select, textarea, [contenteditable]");
    if (busy || event.ctrlKey || event.metaKey || event.altKey || !/^[0-9.,/'"½¼¾⅛⅜⅝⅞]$/.test(event.key)) return;
    this.box?.focus();
  }

  // K in the empty box keeps the figure at once: left waiting for an Enter, it would catch the next reading.
  keepByKey() {
    const button = this.root.querySelector("[form=bench-keep]");
    if (this.asks !== "question" || !button || !/^k$/i.test(this.box.value)) return;
    this.box.value = "";
    this.keptAt = performance.now();
    button.form.requestSubmit(button);
  }

  // It must not answer the next step, and least of all finish the piece.
  habitKey(event) {
    const isHabit = event.key === "Enter" || /^[a-z]$/i.test(event.key);
    if (isHabit && performance.now() - this.keptAt < HABIT_MS && !this.box?.value) event.preventDefault();
  }

  // --- typing ----------------------------------------------------------------------------------------

  submit(event) {
    event.preventDefault();
    if (!this.leaveTypedStep()) return;
    const data = new FormData(event.target, event.submitter);
    const body = Object.fromEntries([...data].filter(([name]) => name !== "csrfmiddlewaretoken"));
    const keeps = body.answer === "kept";
    body.typed ??= "";
    if (!body.typed.trim() && !keeps) {
      this.emptyEnter();
      return;
    }
    this.takeNote("");
    const key = queue.newKey();
    const now = new Date();
    if (this.replaces) queue.remove(this.replaces);
    queue.put({
      key,
      tab: queue.tab,
      order: now.getTime(),
      to: this.root.dataset.sendTo,
      address: this.root.dataset.address,
      piece: this.root.dataset.piece,
      person: this.root.dataset.person,
      personName: this.root.dataset.personName,
      step: this.walk.step,
      words: this.walk.words(this.walk.step),
      asks: this.asks,
      body: { ...body, ...this.extra, step: this.walk.step, key, taken_at: now.toISOString() },
    });
    this.extra = {};
    this.replaces = "";
    this.latest = key;
    this.enteredAt = performance.now();
    this.form.querySelector("[name=working]")?.remove();
    this.level.clear();
    this.box.value = "";
    speech.say(keeps ? "kept" : body.typed, { now: true });
    this.changed();
    this.sender.kick();
    const step = this.walk.step;
    setTimeout(() => {
      // Still unanswered: go on, the answer will find its place.
      if (this.latest === key && this.walk.step === step && queue.take(key) && !queue.take(key).refused) this.goOn();
    }, FLICKER_MS);
  }

  // A tape that types faster than the page moves on: the figure before it has this step, so it has the next.
  leaveTypedStep() {
    const before = this.latest && queue.take(this.latest);
    if (!before || before.refused || before.step !== this.walk.step || !this.box.value.trim()) return true;
    const typed = this.box.value;
    this.carryOn();
    this.box.value = typed;
    return !this.box.disabled;
  }

  emptyEnter() {
    if (performance.now() - this.enteredAt < BOUNCE_MS) return;
    this.takeNote(
      this.asks === "question"
        ? "Press K to keep the figure, or lay the tape again and type what it shows."
        : "Type what the tape shows, then Enter.",
    );
  }

  takeNote(sentence) {
    this.root.querySelector("#bench-wrong").textContent = sentence;
    this.box.toggleAttribute("aria-invalid", false);
    this.root.querySelector(".bench-frame").classList.remove("bench-frame-wrong");
  }

  // Type a refused figure once more, at the step it was meant for.
  typeAgain(entry) {
    if (!this.form) {
      location.assign(`${entry.address}?at=${entry.step}`);
      return;
    }
    this.plain();
    this.walk.show(entry.step);
    this.giveBack(entry);
  }

  // A refused figure that typing it again can mend. A sitting that is over is asked about in the notice above.
  typable(entry) {
    return Boolean(entry.refused) && entry.refused.code !== "sitting-over";
  }

  giveBack(entry) {
    const { corrects, reason, question, working } = entry.body;
    if (entry.asks === this.asks && this.asks !== "read") this.extra = {}; // the form itself still has them
    else this.extra = Object.fromEntries(Object.entries({ corrects, reason, question }).filter(([, value]) => value));
    if (working) this.extra.working = working;
    this.replaces = entry.key;
    this.box.value = entry.body.typed;
    this.root.querySelector("#bench-wrong").textContent = entry.refused.detail;
    this.box.setAttribute("aria-invalid", "true");
    this.root.querySelector(".bench-frame").classList.add("bench-frame-wrong");
    this.box.focus();
    this.box.select();
    this.status.show();
  }

  // --- going on --------------------------------------------------------------------------------------

  // Steps of this piece that wait to be sent.
  waiting() {
    const entries = this.sender ? this.sender.waiting() : [];
    return new Set(entries.filter((entry) => entry.piece === this.root.dataset.piece).map((entry) => entry.step));
  }

  // After an Enter: what a late answer asked for, else the next step.
  goOn() {
    if (this.late && !this.sender.cut && !this.waiting().size) {
      this.swap(this.late);
      return;
    }
    this.carryOn();
  }

  carryOn() {
    const next = this.walk.next(this.waiting());
    if (!next) {
      this.allTyped();
      return;
    }
    this.plain();
    this.walk.show(next);
    this.showHeldSlip();
    const refused = queue.all().find((entry) => entry.piece === this.root.dataset.piece && entry.step === next && this.typable(entry));
    if (refused) this.giveBack(refused);
    this.focus();
    this.sayStep();
  }

  // Every step has its figure. With all of them stored the server says what is left; else they wait.
  allTyped() {
    if (!this.waiting().size) {
      this.swap(this.late || this.root.dataset.address);
      return;
    }
    this.plain();
    this.takeNote("Every point is typed. The verdict comes when the readings are sent.");
    this.root.classList.add("bench-all-typed");
    this.box.disabled = true;
  }

  // The plain walk's form again: no question, no repeat, no correction in it.
  plain() {
    if (this.asks === "read" || !this.form) return;
    for (const part of this.form.querySelectorAll(".slip-question, .bench-again, [name=corrects], [name=question]")) part.remove();
    this.form.querySelector("[name=reason]")?.closest(".field").remove();
    this.form.querySelector("#bench-label").textContent = "Reading";
    this.form.querySelector("#bench-send").textContent = "Next";
    this.asks = "read";
    this.root.dataset.ask = "read";
  }

  // On opening: what was typed before and still waits need not be asked for.
  skipWaiting() {
    if (this.asks === "read" && this.form && this.waiting().has(this.walk.step)) this.carryOn();
  }

  sayStep() {
    if (this.walk.step) speech.say(this.walk.words(this.walk.step));
  }

  // --- what the server says --------------------------------------------------------------------------

  changed() {
    this.status?.show();
    this.walk.setWaiting(this.waiting());
  }

  answered(entry, answer) {
    if (entry.piece !== this.root.dataset.piece) return;
    if (this.form) this.learn(answer);
    speech.say(answer.spoken ?? "");
    const fresh = entry.key === this.latest && performance.now() - this.enteredAt < AT_ONCE_MS;
    const asksNow = answer.kept || answer.ask === "question" || answer.ask === "again";
    if (asksNow) this.late = `${this.root.dataset.address}?after=${entry.step}`;
    if (asksNow && fresh && !this.box?.value) {
      this.swap(this.late); // the slip comes with it
      return;
    }
    if (asksNow) this.tellLate(entry, answer);
    else if (entry.key === this.latest && this.walk.step === entry.step) this.goOn();
    // Gone on first: a slip is hidden or shown by what is asked for now.
    if (answer.slip) this.showSlip(answer.slip);
    if (this.root.classList.contains("bench-all-typed") && !this.waiting().size) this.allTyped();
  }

  learn(answer) {
    if (answer.kept) return;
    this.walk.setDone(answer.done, answer.marks ?? {}, answer.ask === "again" ? answer.next : "");
    this.setHidden("sitting", answer.sitting);
    this.root.dataset.sitting = answer.sitting ?? "";
    this.fixUnit();
    this.setHidden("seen", answer.seen);
    if (answer.others) {
      const note = this.root.querySelector("#bench-others");
      note.textContent = answer.others;
      note.hidden = false;
    }
  }

  // With the first reading stored, what a bare figure means is settled for the sitting.
  fixUnit() {
    const choice = this.form.querySelector(".bench-units");
    if (!choice) return;
    const chosen = choice.querySelector(":checked");
    const fixed = document.createElement("p");
    fixed.className = "bench-in";
    const words = Object.assign(document.createElement("strong"), { textContent: chosen.nextElementSibling.textContent });
    fixed.append(choice.querySelector("span").textContent, " ", words);
    this.form.querySelector(".bench-unit").textContent = chosen.value;
    this.setHidden("state", this.form.querySelector("[name=state]")?.value);
    this.form.querySelector(".bench-room")?.remove();
    choice.replaceWith(fixed);
    this.setHidden("unit", chosen.value);
  }

  setHidden(name, value) {
    if (!value) return;
    let box = this.form.querySelector(`input[type=hidden][name=${name}]`);
    if (!box) {
      box = Object.assign(document.createElement("input"), { type: "hidden", name });
      this.form.append(box);
    }
    box.value = value;
  }

  tellLate(entry, answer) {
    const place = this.root.querySelector("#bench-late");
    const wish = answer.ask === "again" ? "is too close to call and is asked for again" : "looks like a slip and you are asked about it";
    const words = entry.words[0].toUpperCase() + entry.words.slice(1);
    place.querySelector("span").textContent = `${words}: it ${wish}, after this reading. `;
    place.hidden = false;
    place.querySelector("button").hidden = false;
    place.querySelector("button").onclick = () => this.swap(this.late);
  }

  // While a point is asked for, its figures are not shown, when the shop measures blind.
  showSlip(html) {
    const holder = document.createElement("template");
    holder.innerHTML = html;
    this.heldSlip = holder.content.firstElementChild;
    this.showHeldSlip();
  }

  showHeldSlip() {
    const place = this.root.querySelector("#bench-slip");
    const hidden = (slip) => this.root.dataset.blind && slip.dataset.code === this.walk.code && !this.box?.disabled;
    const shown = place.querySelector("[data-code]");
    if (shown && hidden(shown)) place.replaceChildren();
    if (!this.heldSlip || hidden(this.heldSlip)) return;
    place.replaceChildren(this.heldSlip);
    this.heldSlip = null;
  }

  // The page was an old one: show how far the walk is, and say what became of the figure.
  async showAsItIs(entry) {
    queue.remove(entry.key);
    await this.swap(this.root.dataset.address);
    const note = this.root.querySelector("#bench-late");
    if (!note) return;
    note.querySelector("span").textContent = entry.refused.detail;
    note.querySelector("button").hidden = true;
    note.hidden = false;
  }

  refused(entry) {
    if (entry.piece !== this.root.dataset.piece || !this.form) return;
    const fresh = entry.key === this.latest && performance.now() - this.enteredAt < AT_ONCE_MS;
    if (fresh && entry.refused.code === "read-already") {
      this.showAsItIs(entry);
      return;
    }
    if (fresh && !this.box.value && this.typable(entry)) {
      if (this.walk.step !== entry.step) this.walk.show(entry.step);
      this.giveBack(entry);
      speech.say("Not stored. Please look.");
    }
  }
}

new Bench();
