// Reads back what was typed and what is asked next, for a person whose eyes are on the tape. Off until chosen.

const CHOICE = "bench-read-aloud";

export function isPossible() {
  return "speechSynthesis" in window;
}

export function isOn() {
  try {
    return isPossible() && localStorage.getItem(CHOICE) === "on";
  } catch {
    return false;
  }
}

export function choose(on) {
  try {
    localStorage.setItem(CHOICE, on ? "on" : "off");
  } catch {
    // A browser that keeps nothing forgets the choice with the page.
  }
  if (!on) speechSynthesis.cancel();
}

// What was said before goes on; `now` breaks it off.
export function say(words, { now = false } = {}) {
  if (!words || !isOn()) return;
  if (now) speechSynthesis.cancel();
  const utterance = new SpeechSynthesisUtterance(words);
  utterance.lang = document.documentElement.lang;
  speechSynthesis.speak(utterance);
}
