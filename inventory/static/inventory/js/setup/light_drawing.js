// While a point is under the pointer or has the focus, its line in the drawing is marked.
// Without this script the page says the same in words; the drawing just stays quiet.

const drawing = document.querySelector("svg.drawing");

function places(code) {
  return [...drawing.querySelectorAll(".pom")].filter((place) => place.dataset.point === code);
}

function mark(code, on) {
  for (const place of places(code)) {
    place.classList.toggle("is-active", on);
    for (const box of place.querySelectorAll(".pom-box")) {
      box.classList.toggle("is-filled", on);
    }
  }
}

function pointOf(event) {
  return event.target.closest("[data-point]")?.dataset.point;
}

if (drawing) {
  for (const list of document.querySelectorAll("[data-lights-drawing]")) {
    for (const [start, end] of [["mouseover", "mouseout"], ["focusin", "focusout"]]) {
      list.addEventListener(start, (event) => mark(pointOf(event), true));
      list.addEventListener(end, (event) => mark(pointOf(event), false));
    }
  }
}
