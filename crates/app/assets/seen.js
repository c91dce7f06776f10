// What there was to see: a sentence shows its bars on the page, a bar tells what is said of it.

import { say } from "./house.js";
import { Paper } from "./paper.js";

const desk = document.querySelector(".seen-desk");
const about = { piece: desk.dataset.piece, query: "", labels: desk.dataset.labels.split("\n"), desk };
const numbers = (text) => (text ? text.split(" ").map(Number) : []);
const escaped = numbers(desk.dataset.missed);

class Told extends Paper {
  draw() {
    super.draw();
    for (const place of this.music.querySelectorAll(".place")) {
      const here = escaped.some((bar) => +place.dataset.bar <= bar && bar <= +place.dataset.last);
      place.classList.toggle("escaped-here", here);
    }
  }

  /** Bars don't go round here. */
  chooseRound() {
    this.round = null;
    this.draw();
    return false;
  }

  stretch() {}
}

const paper = new Told(about);
const margin = desk.querySelector(".told-after");
const touchable = ".place-told[data-bars], .point[data-bars]";

function show(button) {
  const again = button.classList.contains("told");
  margin.querySelectorAll(".told").forEach((other) => other.classList.remove("told"));
  if (again) {
    paper.tell([], []);
    return;
  }
  button.classList.add("told");
  const bars = numbers(button.dataset.bars);
  paper.tell(bars, []);
  say(`Shown on the page: ${bars.map((bar) => `bar ${paper.label(bar)}`).join(", ")}`);
}

margin.addEventListener("click", (event) => {
  const button = event.target.closest(touchable);
  if (button) show(button);
});

// A touched bar: the sentences about it, one after another.
paper.onOpen = (bar) => {
  paper.opened = null;
  const about = [...margin.querySelectorAll(touchable)].filter((button) => numbers(button.dataset.bars).includes(bar));
  if (!about.length) {
    say(`Nothing is said of bar ${paper.label(bar)}.`);
    return;
  }
  const at = about.findIndex((button) => button.classList.contains("told"));
  const next = about[(at + 1) % about.length];
  const folded = next.closest("details");
  if (folded) folded.open = true;
  if (!next.classList.contains("told")) show(next);
  next.scrollIntoView({ block: "nearest" });
  next.focus({ preventScroll: true });
};

document.addEventListener("keydown", (event) => {
  if (event.altKey || event.ctrlKey || event.metaKey) return;
  if (event.key === "PageDown" || event.key === "PageUp") {
    event.preventDefault();
    paper.turn(event.key === "PageDown" ? 1 : -1);
  } else if (event.key === " " && event.target.closest(".place")) {
    event.preventDefault();
    event.stopImmediatePropagation();
  }
}, true);

paper.draw();
window.foreread = { paper };
