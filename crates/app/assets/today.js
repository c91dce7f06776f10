// Today: notes come when they are looked for; rungs are ticked; a turn is written down by one touch; the timer goes from turn to turn.

import { ask, piece, say } from "./house.js";

const list = document.querySelector(".turns");
const turns = [...document.querySelectorAll(".turn")];
const at = (turn) => ({ program: list.dataset.program, on: list.dataset.on, turn: turn.dataset.turn });
const to = (what) => `/today/${list.dataset.player}/${what}`;

// The notes of each turn.
const near = new IntersectionObserver((seen) => {
  for (const { target, isIntersecting } of seen) {
    if (!isIntersecting) continue;
    near.unobserve(target);
    piece(target.dataset.from).then((notes) => {
      target.replaceChildren(notes);
      target.dataset.there = "";
      const drill = target.closest(".turn").querySelector(".of-drill");
      // What has words of its own is a drill; a passage has only its bars.
      if (drill) drill.hidden = !target.querySelector("figcaption p");
    }, (error) => { target.textContent = error.message; });
  }
}, { rootMargin: "70%" });
document.querySelectorAll(".notes[data-from]").forEach((notes) => near.observe(notes));

function mistake(turn, error) {
  let line = turn.querySelector(".slip-said");
  if (!line) {
    line = document.createElement("p");
    line.className = "slip-said";
    line.setAttribute("role", "alert");
    turn.querySelector(".afterwards").append(line);
  }
  line.textContent = error.message;
}

// Ticks are kept as they are made.
list?.addEventListener("change", async (event) => {
  const rung = event.target.closest(".rung");
  if (!rung) return;
  const turn = rung.closest(".turn");
  try {
    await ask(to("tick"), { ...at(turn), rung: Number(rung.dataset.rung), ticked: rung.checked });
  } catch (error) {
    rung.checked = !rung.checked;
    mistake(turn, error);
  }
});

list?.addEventListener("click", async (event) => {
  const turn = event.target.closest(".turn");
  if (event.target.matches(".went")) await went(turn, event.target);
  if (event.target.matches(".strike")) await strike(turn);
  if (event.target.matches(".hear")) hear(event.target);
});

function shown(turn, said) {
  turn.classList.toggle("over", said !== null);
  turn.querySelector(".over-said").hidden = said === null;
  turn.querySelector(".ask").hidden = said !== null;
  turn.querySelector(".said-of-it").textContent = said ?? "";
}

async function went(turn, button) {
  const clean = button.dataset.clean === undefined ? null : Number(button.dataset.clean);
  const minutes = timer.took(turn);
  try {
    const answer = await ask(to("log"), { ...at(turn), clean, felt: button.dataset.felt ?? null, minutes });
    const { said } = await answer.json();
    shown(turn, said);
    turn.querySelector(".slip-said")?.remove();
    turn.querySelector(".strike").focus({ preventScroll: true });
    say(`${turn.dataset.name}: ${said}. Written down.`);
    if (timer.turn === turn) timer.next();
    await after();
  } catch (error) {
    mistake(turn, error);
  }
}

async function strike(turn) {
  try {
    await ask(to("strike"), at(turn));
    shown(turn, null);
    turn.querySelector(".went").focus({ preventScroll: true });
    say(`${turn.dataset.name}: struck out.`);
    await after();
  } catch (error) {
    mistake(turn, error);
  }
}

/** What changes by what was written down: the next sitting, and how far it is. */
async function after() {
  const now = new DOMParser().parseFromString(await (await fetch(location.href)).text(), "text/html");
  for (const name of [".tomorrow", ".how-far"]) {
    const [old, fresh] = [document.querySelector(name), now.querySelector(name)];
    if (old && fresh) old.replaceWith(document.adoptNode(fresh));
  }
}

// A drill, heard.
let sound = null;
function hear(button) {
  const again = sound && !sound.paused && sound.button === button;
  sound?.pause();
  document.querySelectorAll(".hear").forEach((other) => { other.textContent = other.dataset.words; });
  if (again) return;
  sound = new Audio(button.dataset.sound);
  sound.button = button;
  button.textContent = "Stop";
  sound.addEventListener("ended", () => { button.textContent = button.dataset.words; });
  sound.play().catch((error) => { button.textContent = button.dataset.words; mistake(button.closest(".turn"), error); });
}

/** Goes from turn to turn without a sound; nobody is hurried: when a turn's time is up it says so and waits. */
class Timer {
  constructor() {
    this.place = document.querySelector(".timer");
    this.turn = null;
    this.spent = new Map();
    this.since = null;
    this.said = false;
    if (!this.place) return;
    this.begin = this.place.querySelector(".begin");
    this.onward = this.place.querySelector(".next");
    this.begin.addEventListener("click", () => this.toggle());
    this.onward.addEventListener("click", () => this.next());
    setInterval(() => this.tell(), 500);
    this.recall();
  }

  get key() { return `timer ${list.dataset.player} ${list.dataset.program} ${list.dataset.on}`; }

  // A page that was closed goes on where it was.
  keep() {
    const spent = [...this.spent].map(([turn, ms]) => [turn.dataset.turn, ms]);
    localStorage.setItem(this.key, JSON.stringify({ turn: this.turn?.dataset.turn, spent }));
  }

  recall() {
    for (const old of Object.keys(localStorage)) {
      if (old.startsWith("timer ") && !old.endsWith(list.dataset.on)) localStorage.removeItem(old);
    }
    try {
      const kept = JSON.parse(localStorage.getItem(this.key) ?? "null");
      const named = (name) => turns.find((turn) => turn.dataset.turn === name);
      for (const [name, ms] of kept?.spent ?? []) if (named(name)) this.spent.set(named(name), ms);
      if (kept?.turn && named(kept.turn)) this.show(named(kept.turn), false);
    } catch { /* What can't be read is begun anew. */ }
    this.tell();
  }

  ms(turn) {
    const running = turn === this.turn && this.since !== null ? Date.now() - this.since : 0;
    return (this.spent.get(turn) ?? 0) + running;
  }

  /** Minutes that the timer ran for a turn; nothing where it never ran. */
  took(turn) {
    const ms = this.ms(turn);
    return ms > 0 ? ms / 60000 : null;
  }

  toggle() {
    if (!this.turn) {
      this.show(turns.find((turn) => !turn.classList.contains("over")) ?? turns[0], true);
      this.run();
    } else if (this.since === null) this.run();
    else this.pause();
  }

  run() {
    this.since = Date.now();
    this.begin.textContent = "Pause";
    this.tell();
  }

  pause() {
    if (this.since !== null) this.spent.set(this.turn, this.ms(this.turn));
    this.since = null;
    this.begin.textContent = "Go on";
    this.keep();
    this.tell();
  }

  next() {
    if (!this.turn) return;
    const running = this.since !== null;
    this.pause();
    const rest = turns.slice(turns.indexOf(this.turn) + 1).filter((turn) => !turn.classList.contains("over"));
    if (!rest.length) return this.end();
    this.show(rest[0], true);
    if (running) this.run();
  }

  end() {
    this.turn.classList.remove("now");
    this.turn = null;
    this.onward.disabled = true;
    this.begin.textContent = "Begin";
    this.place.classList.remove("resting");
    this.place.querySelector(".left").textContent = "";
    this.place.querySelector(".doing-now").textContent = "That was the sitting. Put the instrument away well.";
    localStorage.removeItem(this.key);
    say("That was the sitting.");
  }

  show(turn, scroll) {
    this.turn?.classList.remove("now");
    this.turn = turn;
    this.said = false;
    turn.classList.add("now");
    this.onward.disabled = false;
    this.begin.textContent = this.since === null ? "Go on" : "Pause";
    this.place.classList.toggle("resting", "rest" in turn.dataset);
    const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
    if (scroll) turn.scrollIntoView({ block: "start", behavior: calm ? "auto" : "smooth" });
    say(`Now: ${turn.dataset.name}, ${Math.round(turn.dataset.secs / 60)} minutes.`);
    this.keep();
    this.tell();
  }

  tell() {
    if (!this.turn) return;
    const left = Number(this.turn.dataset.secs) - Math.floor(this.ms(this.turn) / 1000);
    const following = turns.slice(turns.indexOf(this.turn) + 1).find((turn) => !turn.classList.contains("over"));
    const shown = Math.abs(left);
    this.place.querySelector(".left").textContent = `${left < 0 ? "+" : ""}${Math.floor(shown / 60)}:${String(shown % 60).padStart(2, "0")}`;
    const resting = "rest" in this.turn.dataset;
    const up = resting ? "Rested enough? Then" : "Time for this one is up. Finish the phrase; then";
    const next = following ? `${following.dataset.name.toLowerCase()}` : "you are through";
    this.place.querySelector(".doing-now").textContent = left > 0 ? this.turn.dataset.name : `${up} ${next}.`;
    if (left <= 0 && !this.said && this.since !== null) {
      this.said = true;
      say(this.place.querySelector(".doing-now").textContent);
    }
    if (this.since !== null) this.keep();
  }
}

const timer = new Timer();

document.addEventListener("keydown", (event) => {
  if (event.altKey || event.ctrlKey || event.metaKey || event.target.closest("input, select, textarea")) return;
  if (event.key === " " && !event.target.closest("button, summary, a") && timer.place) {
    event.preventDefault();
    timer.toggle();
  } else if (event.key === "PageDown" && timer.turn) {
    // A foot pedal sends this.
    event.preventDefault();
    timer.next();
  }
});

// For tests in a browser.
window.foreread = { timer };
