// What was typed at the bench and is not stored on the server yet.
//
// Each entry lies under a name of its own in localStorage, so two tabs never write over one another. An entry
// is put here before anything is sent, and taken out only after the server has answered. Where the browser
// keeps nothing (a private window, a full disk), entries live as long as the page does.

const PREFIX = "bench-entry:";
const ALIVE = "bench-tab:";
const STALE_MS = 20000;

export const tab = newKey();
const inMemory = new Map();
export const keepsNothing = !storageWorks();

export function newKey() {
  // randomUUID exists only where the connection counts as secure; a shop's own network may have none.
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

export function put(entry) {
  const text = JSON.stringify(entry);
  if (!keepsNothing) {
    try {
      localStorage.setItem(PREFIX + entry.key, text);
      inMemory.delete(entry.key);
      return;
    } catch {
      // Full: keep it in memory, and say so through `atRisk`.
    }
  }
  inMemory.set(entry.key, text);
}

export function take(key) {
  const text = inMemory.get(key) ?? (keepsNothing ? null : localStorage.getItem(PREFIX + key));
  return text === null || text === undefined ? null : JSON.parse(text);
}

export function remove(key) {
  inMemory.delete(key);
  if (!keepsNothing) localStorage.removeItem(PREFIX + key);
}

export function all() {
  const keys = new Set(inMemory.keys());
  if (!keepsNothing) {
    for (let place = 0; place < localStorage.length; place += 1) {
      const name = localStorage.key(place);
      if (name.startsWith(PREFIX)) keys.add(name.slice(PREFIX.length));
    }
  }
  return [...keys].map(take).filter(Boolean).sort((one, other) => one.order - other.order);
}

// Whether something would be lost by closing the page.
export function atRisk() {
  return inMemory.size > 0;
}

export function isOurs(name) {
  return name === null || name.startsWith(PREFIX);
}

// A tab sends what it typed itself, and what was typed in a tab that is no longer there.
export function isMine(entry) {
  return entry.tab === tab || !isAlive(entry.tab);
}

function isAlive(other) {
  if (keepsNothing) return false;
  return Date.now() - Number(localStorage.getItem(ALIVE + other) ?? 0) < STALE_MS;
}

function sayAlive() {
  try {
    localStorage.setItem(ALIVE + tab, String(Date.now()));
  } catch {
    // Full; another tab may then send our entries. Each is stored once all the same, by its key.
  }
}

function forgetDeadTabs() {
  for (const name of Object.keys(localStorage)) {
    if (name.startsWith(ALIVE) && !isAlive(name.slice(ALIVE.length))) localStorage.removeItem(name);
  }
}

function storageWorks() {
  try {
    localStorage.setItem("bench-probe", "1");
    localStorage.removeItem("bench-probe");
    return true;
  } catch {
    return false;
  }
}

if (!keepsNothing) {
  forgetDeadTabs();
  sayAlive();
  setInterval(sayAlive, 3000);
  addEventListener("pagehide", () => localStorage.removeItem(ALIVE + tab));
  addEventListener("pageshow", sayAlive);
}
