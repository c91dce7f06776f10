// What was heard: a sentence shows its bars, a bar is told and heard again: the take, the model, or both at once.

import { ask, piece, say } from "./house.js";
import { Paper } from "./paper.js";

const desk = document.querySelector(".take-desk");
const id = desk.dataset.take;
const about = { piece: desk.dataset.piece, query: "", labels: desk.dataset.labels.split("\n"), desk };
const played = JSON.parse(desk.dataset.bars);
const numbers = (text) => (text ? text.split(" ").map(Number) : []);
const margin = desk.querySelector(".heard");
const panel = margin.querySelector(".bar-heard");
const stopper = margin.querySelector(".hear-stop");

class Marked extends Paper {
  /** Bars don't go round here. */
  chooseRound() {
    this.round = null;
    this.draw();
    return false;
  }

  stretch() {}
}

const paper = new Marked(about);

// Hearing.

let context = null;
let recording = null;
let sounding = [];
let turn = 0;

async function ready() {
  // A browser lets sound begin only where a person has just touched something.
  context ??= new AudioContext();
  await context.resume();
  recording ??= fetch(`/take/${id}/sound`).then(async (answer) => {
    if (!answer.ok) throw new Error("The sound of this take is gone.");
    return context.decodeAudioData(await answer.arrayBuffer());
  });
  return recording;
}

function stop() {
  turn += 1;
  for (const source of sounding) {
    source.onended = null;
    source.stop();
    source.disconnect();
  }
  sounding = [];
  stopper.hidden = true;
  paper.away();
}

/** Plays part of a buffer, to one side or in the middle. */
function start(buffer, from, length, side) {
  const source = context.createBufferSource();
  source.buffer = buffer;
  const pan = context.createStereoPanner();
  pan.pan.value = side;
  source.connect(pan).connect(context.destination);
  source.start(context.currentTime + 0.06, from, length);
  sounding.push(source);
  return source;
}

async function hear(what, bar) {
  stop();
  const mine = turn;
  try {
    const take = await ready();
    let model = null;
    if (what !== "take") {
      const wanted = { bars: [bar.bar, bar.bar], tempo: bar.tempo ?? undefined, count_in: 0 };
      const made = await (await ask(`/part/${about.piece}/sound`, wanted)).json();
      const bytes = await (await fetch(made.sound)).arrayBuffer();
      model = { buffer: await context.decodeAudioData(bytes), from: made.begins };
    }
    if (mine !== turn) return;
    const both = what === "both";
    const sources = [];
    if (what !== "model") sources.push(start(take, bar.from, bar.to - bar.from + 0.1, both ? -0.7 : 0));
    if (model) sources.push(start(model.buffer, model.from, undefined, both ? 0.7 : 0));
    stopper.hidden = false;
    let left = sources.length;
    for (const source of sources) source.onended = () => (left -= 1) || stop();
  } catch (error) {
    stop();
    say(error.message);
    panel.querySelector(".heard-said")?.append(` ${error.message}`);
  }
}

margin.querySelector(".hear-all").addEventListener("click", async () => {
  stop();
  const mine = turn;
  try {
    const take = await ready();
    if (mine !== turn) return;
    const source = start(take, 0, undefined, 0);
    source.onended = stop;
    stopper.hidden = false;
  } catch (error) {
    say(error.message);
  }
});
stopper.addEventListener("click", stop);

// A touched bar.

function open(index) {
  paper.opened = index;
  const times = played.filter((bar) => bar.bar === index);
  panel.replaceChildren();
  panel.hidden = false;
  const heading = document.createElement("h2");
  heading.textContent = `Bar ${paper.label(index)}`;
  heading.tabIndex = -1;
  panel.append(heading);
  if (!times.length) panel.append(line("It was not played in this take."));
  for (const bar of times) {
    const words = bar.says || "clean";
    panel.append(line(times.length > 1 ? `Time ${bar.pass}: ${words}.` : `${words[0].toUpperCase()}${words.slice(1)}.`));
    const ways = document.createElement("div");
    ways.className = "ways-to-hear";
    for (const [what, name] of [["take", "The take"], ["model", "The model"], ["both", "Both"]]) {
      const button = document.createElement("button");
      button.type = "button";
      button.dataset.hear = what;
      button.textContent = name;
      button.title = what === "both" ? "The take on the left, the model on the right, at the take’s tempo" : "";
      button.addEventListener("click", () => hear(what, bar));
      ways.append(button);
    }
    panel.append(ways);
  }
  const close = document.createElement("button");
  close.type = "button";
  close.textContent = "Put away";
  close.addEventListener("click", shut);
  panel.append(close);
  paper.tell([index], []);
  margin.scrollTop = 0;
  heading.focus({ preventScroll: true });
}

function line(words) {
  const p = document.createElement("p");
  p.className = "heard-said";
  p.textContent = words;
  return p;
}

function shut() {
  if (panel.hidden) return false;
  const place = paper.places(paper.opened ?? -1)[0];
  panel.hidden = true;
  paper.opened = null;
  paper.tell([], []);
  place?.focus();
  return true;
}

paper.onOpen = open;

margin.addEventListener("click", (event) => {
  const button = event.target.closest(".point[data-bars]");
  if (!button) return;
  const bars = numbers(button.dataset.bars);
  paper.tell(bars, []);
  say(`Shown on the page: ${bars.map((bar) => `bar ${paper.label(bar)}`).join(", ")}`);
});

for (const drill of margin.querySelectorAll(".drill")) {
  drill.addEventListener("toggle", async () => {
    if (!drill.open || drill.dataset.fetched) return;
    drill.dataset.fetched = "yes";
    try {
      drill.append(await piece(drill.dataset.from));
    } catch (error) {
      delete drill.dataset.fetched;
      say(error.message);
    }
  });
}

margin.querySelector('[name="beside"]')?.addEventListener("change", ({ target }) => {
  location.search = `?beside=${target.value}`;
});

// Keeping.

const written = margin.querySelector(".written-said");
const note = margin.querySelector('[name="note"]');
note.addEventListener("change", async () => {
  try {
    await ask(`/take/${id}/note`, { note: note.value });
    written.textContent = "Noted.";
  } catch (error) {
    written.textContent = error.message;
  }
});
const down = margin.querySelector(".write-down");
down.addEventListener("click", async () => {
  down.disabled = true;
  try {
    written.textContent = await (await ask(`/take/${id}/log`)).json();
  } catch (error) {
    down.disabled = false;
    written.textContent = error.message;
  }
});
const really = margin.querySelector(".delete-really");
margin.querySelector(".delete").addEventListener("click", () => {
  really.hidden = false;
  really.focus();
});
really.addEventListener("click", async () => {
  try {
    await ask(`/take/${id}/away`);
    location.assign(`/takes/${about.piece}`);
  } catch (error) {
    written.textContent = error.message;
  }
});

document.addEventListener("keydown", (event) => {
  if (event.target.closest("input, select, textarea") || event.altKey || event.ctrlKey || event.metaKey) return;
  if (event.key === "Escape" && !shut()) stop();
  else if (event.key === "PageDown" || event.key === "PageUp") {
    event.preventDefault();
    paper.turn(event.key === "PageDown" ? 1 : -1);
  }
});

// For tests in a browser.
window.foreread = { paper, hear, get sounding() { return sounding.length; } };
