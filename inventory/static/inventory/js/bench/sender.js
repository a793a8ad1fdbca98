// Sends what waits, in the order it was typed, one at a time; tries again until the server has answered.

import * as queue from "./queue.js";

const TIMEOUT_MS = 10000;
const LEASE_MS = 15000; // while one tab sends an entry the others leave it alone
const SLOWEST_MS = 30000;

export class Sender {
  // person: the id of who is signed in; address: a page of the bench, for a fresh token.
  // answered(entry, answer), refused(entry) and changed() are told what happens.
  constructor({ person, address, answered, refused, changed }) {
    Object.assign(this, { person, address, answered, refused, changed });
    this.busy = false;
    this.signedOut = false;
    this.failures = 0;
    this.timer = 0;
    addEventListener("online", () => this.kick());
    addEventListener("storage", (event) => queue.isOurs(event.key) && this.changed());
    document.addEventListener("visibilitychange", () => document.hidden || this.kick());
    this.timer = setTimeout(() => this.kick(), 0);
  }

  get cut() {
    return this.failures > 0;
  }

  // Try now.
  async kick() {
    clearTimeout(this.timer);
    if (this.busy) return;
    this.busy = true;
    try {
      for (let entry = this.next(); entry; entry = this.next()) {
        if (!(await this.send(entry))) break;
      }
    } finally {
      this.busy = false;
    }
    this.changed();
    if (this.waiting().length) this.timer = setTimeout(() => this.kick(), this.pause());
  }

  // Entries of this person that the server has not answered.
  waiting() {
    return queue.all().filter((entry) => entry.person === this.person && !entry.refused);
  }

  next() {
    const now = Date.now();
    const free = (entry) => queue.isMine(entry) && (entry.leasedBy === queue.tab || !(entry.leasedUntil > now));
    return this.waiting().find(free);
  }

  pause() {
    if (!this.failures) return 1000; // another tab has the rest
    return Math.min(1000 * 2 ** (this.failures - 1), SLOWEST_MS);
  }

  // Whether to go on with the next entry.
  async send(entry, { again = false } = {}) {
    queue.put({ ...entry, leasedBy: queue.tab, leasedUntil: Date.now() + LEASE_MS });
    const response = await this.post(entry);
    if (response && (response.ok || (response.status >= 400 && response.status < 500))) this.failures = 0;
    if (response?.ok) return this.done(entry, response);
    queue.put({ ...entry, leasedUntil: 0 });
    if (!response || response.status >= 500 || response.status === 429) return this.cutOff();
    const outside = response.type === "opaqueredirect" || response.status === 401 || response.status === 403;
    if (!outside) return this.refuse(entry, response);
    // Signed out, or signed in again in another tab, which makes the page's token stale.
    if (!again && (await this.freshToken())) return this.send(entry, { again: true });
    this.signedOut = true;
    return this.cutOff();
  }

  async post(entry) {
    const body = new URLSearchParams(entry.body);
    body.set("csrfmiddlewaretoken", token());
    try {
      return await fetch(entry.to, {
        method: "POST",
        body,
        headers: { Accept: "application/json" },
        credentials: "same-origin",
        redirect: "manual",
        signal: AbortSignal.timeout(TIMEOUT_MS),
      });
    } catch {
      return null;
    }
  }

  async done(entry, response) {
    let answer;
    try {
      answer = await response.json();
    } catch {
      queue.put({ ...entry, leasedUntil: 0 });
      return this.cutOff(); // cut off in the middle of the answer: it is stored, and its key makes asking again safe
    }
    queue.remove(entry.key);
    this.signedOut = false;
    this.changed();
    this.answered(entry, answer);
    return true;
  }

  async refuse(entry, response) {
    let problem = {};
    try {
      problem = await response.json();
    } catch {
      // Not ours: a proxy's own page. The sentence below has to do.
    }
    const detail = problem.detail ?? `The server refused it (${response.status}). Load the page again.`;
    const refused = { ...entry, leasedUntil: 0, refused: { code: problem.code ?? "refused", detail } };
    queue.put(refused);
    this.changed();
    this.refused(refused);
    return true;
  }

  cutOff() {
    this.failures += 1;
    this.changed();
    return false;
  }

  async freshToken() {
    try {
      const page = await fetch(this.address, { credentials: "same-origin", redirect: "manual" });
      if (!page.ok) return false;
      const fresh = new DOMParser().parseFromString(await page.text(), "text/html");
      const person = fresh.querySelector("[data-person]")?.dataset.person;
      const value = fresh.querySelector("[name=csrfmiddlewaretoken]")?.value;
      if (person !== this.person || !value) return false;
      for (const box of document.querySelectorAll("[name=csrfmiddlewaretoken]")) box.value = value;
      return true;
    } catch {
      return false;
    }
  }
}

function token() {
  return document.querySelector("[name=csrfmiddlewaretoken]")?.value ?? "";
}
