// The part, open: paper, margin and sound brought together.

import { Paper } from "./paper.js";
import { Margin } from "./margin.js";
import { Listen } from "./listen.js";
import { Pencil } from "./pencil.js";
import { Stand } from "./stand.js";

// What was shown while the part was engraved has done its work.
document.querySelector(".meanwhile")?.remove();

const desk = document.querySelector(".desk");
const about = {
  piece: desk.dataset.piece,
  query: desk.dataset.query,
  labels: desk.dataset.labels.split("\n"),
  desk,
};

const paper = new Paper(about);
const margin = new Margin(about, paper);
const listen = new Listen(about, paper);

paper.onOpen = (bar) => margin.openBar(bar);
paper.onRound = (bars) => listen.choose(bars);
margin.onHear = (what) => listen.hear(what);
const pencil = new Pencil(about, paper, margin);
const stand = new Stand(about, paper, listen);
paper.onFollow = (page) => stand.show(page);

// The margin away: the page has the whole stand, two pages side by side where the stand is wide.
const shown = document.querySelector(".margin-shown");
function lay() {
  const alone = shown.getAttribute("aria-pressed") !== "true";
  desk.classList.toggle("alone", alone);
  desk.classList.toggle("two", alone && paper.pages.length > 1);
}
shown.addEventListener("click", () => {
  const now = shown.getAttribute("aria-pressed") !== "true";
  shown.setAttribute("aria-pressed", String(now));
  lay();
});

// For whom it is read.
document.querySelector('[name="reader"]')?.addEventListener("change", (event) => {
  const said = new URLSearchParams(location.search);
  said.delete("level");
  said.delete("player");
  const [name, value] = event.target.value.split("=");
  if (value !== "intermediate") said.set(name, value);
  location.search = said.toString();
});

document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input:not([type=checkbox]), select, textarea, [contenteditable]");
  if ((event.ctrlKey || event.metaKey) && !typing && event.key.toLowerCase() === "z") {
    event.preventDefault();
    pencil.back(event.shiftKey ? "redo" : "undo");
    return;
  }
  if (typing || event.altKey || event.ctrlKey || event.metaKey) return;
  const pressing = event.target.closest("button, summary, a");
  if (event.key === " " && !pressing && !event.target.closest(".place")) {
    event.preventDefault();
    listen.toggle();
  } else if (event.key === "Escape") {
    if (!pencil.layDown() && !margin.close() && !paper.chooseRound(null)) listen.stop();
  } else if (event.key === "PageDown" || event.key === "PageUp") {
    // A foot pedal sends these.
    event.preventDefault();
    paper.turn(event.key === "PageDown" ? 1 : -1);
  }
});

// For tests in a browser: what is where, without looking into private things.
window.foreread = { paper, margin, listen, pencil, stand };
