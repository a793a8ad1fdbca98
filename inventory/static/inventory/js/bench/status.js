// Says what waits in this browser, and asks what to do with what was refused.

import * as queue from "./queue.js";

const QUIET_MS = 1000; // an answer usually comes sooner; nobody needs to read about that

export class Status {
  // region: the element with role status. again(entry) is called to type a refused entry once more; inHand()
  // is the key of the refused entry that stands in the box already, with its reason below it.
  constructor(region, sender, { piece = "", again = null, inHand = () => "" } = {}) {
    Object.assign(this, { region, sender, piece, again, inHand });
    this.timer = 0;
    this.said = "";
  }

  show() {
    clearTimeout(this.timer);
    const waiting = this.sender.waiting();
    const young = waiting.filter((entry) => Date.now() - entry.order < QUIET_MS);
    if (young.length && !this.sender.cut) {
      // Ask again once they have grown old.
      this.timer = setTimeout(() => this.show(), QUIET_MS);
    }
    const late = this.sender.cut ? waiting : waiting.filter((entry) => !young.includes(entry));
    const parts = [
      this.waitingPart(late),
      this.strangersPart(),
      this.riskPart(),
      ...this.refusedEntries().map((one) => this.refusedPart(one)),
    ].filter(Boolean);
    // Replaced only when something changed: a status region speaks each time.
    const now = parts.map((part) => part.textContent).join("\n");
    if (now === this.said) return;
    this.said = now;
    this.region.replaceChildren(...parts);
  }

  waitingPart(late) {
    if (!late.length) return null;
    const box = element("p", "bench-wait");
    box.id = "bench-wait";
    box.append(`${count(late.length, "reading")} waiting to be sent. `);
    if (this.sender.signedOut) {
      const link = element("a", "", "sign in again");
      link.href = `${this.region.dataset.signIn}?next=${encodeURIComponent(location.pathname)}`;
      box.append("You are signed out: ", link, ", and they are sent.");
    } else if (this.sender.cut) {
      box.append("No connection. Go on measuring; they are kept in this browser.");
    }
    return box;
  }

  strangersPart() {
    const strangers = queue.all().filter((entry) => entry.person !== this.sender.person);
    if (!strangers.length) return null;
    const names = [...new Set(strangers.map((entry) => entry.personName))].join(" and ");
    const wait = strangers.length === 1 ? "waits" : "wait";
    return element("p", "bench-wait", `${count(strangers.length, "reading")} by ${names} ${wait} here until ${names} signs in.`);
  }

  riskPart() {
    if (!queue.atRisk()) return null;
    return element("p", "bench-wait", "This browser can keep nothing. Leave the page open until everything is sent.");
  }

  refusedEntries() {
    const mine = (entry) => entry.refused && entry.person === this.sender.person;
    return queue.all().filter((entry) => mine(entry) && entry.key !== this.inHand());
  }

  refusedPart(entry) {
    const box = element("div", "notice notice-error bench-refused");
    box.dataset.key = entry.key;
    const where = entry.piece === this.piece ? "" : `${entry.piece}, `;
    box.append(element("p", "", `${where}${entry.words}: “${entry.body.typed}” is not stored. ${entry.refused.detail}`));
    const deeds = element("p", "form-actions");
    if (entry.refused.code === "sitting-over") {
      deeds.append(this.button("Store it in a new sitting", () => {
        const { sitting, ...body } = entry.body;
        queue.put({ ...entry, body, refused: null });
        this.sender.kick();
      }));
    } else if (this.again && entry.piece === this.piece) {
      deeds.append(this.button("Type it again", () => this.again(entry)));
    } else {
      const link = element("a", "button-quiet", `Open ${entry.piece}`);
      link.href = entry.address;
      deeds.append(link);
    }
    deeds.append(this.button("Let it go", () => {
      queue.remove(entry.key);
      this.sender.changed();
    }));
    box.append(deeds);
    return box;
  }

  button(words, deed) {
    const made = element("button", "button-quiet", words);
    made.type = "button";
    made.addEventListener("click", deed);
    return made;
  }
}

function count(number, word) {
  return `${number} ${word}${number === 1 ? "" : "s"}`;
}

function element(name, className, text = "") {
  const made = document.createElement(name);
  if (className) made.className = className;
  made.textContent = text;
  return made;
}
