// Looking first: one question after another on the clean part, bars pointed at for proof, the clock.

import { ask, say } from "./house.js";
import { Paper } from "./paper.js";

const desk = document.querySelector(".looking");
const about = { piece: desk.dataset.piece, query: "", labels: desk.dataset.labels.split("\n"), desk };
const MOST_POINTED = 8;

/** The clean pages: a touched bar is pointed at, a dragged span wholly. */
class Pointed extends Paper {
  constructor(about) {
    super(about);
    this.pointed = [];
    this.onPoint = () => {};
    // Space points, too; nothing plays here.
    this.music.addEventListener("keydown", (event) => {
      const place = event.target.closest(".place");
      if (!place || event.key !== " ") return;
      event.preventDefault();
      event.stopImmediatePropagation();
      this.open(+place.dataset.bar);
    }, true);
  }

  open(bar) {
    const place = this.places(bar)[0];
    if (place) {
      this.music.querySelectorAll('.place[tabindex="0"]').forEach((p) => p.setAttribute("tabindex", "-1"));
      place.setAttribute("tabindex", "0");
    }
    this.onPoint([bar], true);
  }

  chooseRound(bars) {
    this.round = null;
    if (bars) {
      const all = [];
      for (let bar = bars[0]; bar <= bars[1]; bar += 1) all.push(bar);
      this.onPoint(all, false);
    }
    this.draw();
    return false;
  }

  stretch(place, next) {
    this.onPoint([+place.dataset.bar, +next.dataset.bar], false);
  }

  draw() {
    super.draw();
    for (const place of this.music.querySelectorAll(".place")) {
      const held = (this.pointed ?? []).some((bar) => +place.dataset.bar <= bar && bar <= +place.dataset.last);
      place.classList.toggle("pointed-at", held);
      place.setAttribute("aria-pressed", String(held));
    }
  }
}

class Looking {
  constructor(paper) {
    this.paper = paper;
    this.asks = [...desk.querySelectorAll(".ask")];
    this.steps = [...desk.querySelectorAll(".step")];
    this.back = desk.querySelector(".back");
    this.next = desk.querySelector(".next");
    this.done = desk.querySelector(".done");
    this.overSaid = desk.querySelector(".over");
    this.pointed = new Map();
    this.at = 0;
    this.over = false;
    this.steps.forEach((step, at) => step.addEventListener("click", () => this.go(at, true)));
    this.back.addEventListener("click", () => this.go(this.at - 1, true));
    this.next.addEventListener("click", () => this.go(this.at + 1, true));
    this.done.addEventListener("click", () => this.send());
    for (const one of this.asks) {
      one.addEventListener("change", (event) => this.chosen(one, event.target));
      one.querySelector(".nowhere")?.addEventListener("click", () => this.nowhere());
      one.querySelector(".pointed")?.addEventListener("click", (event) => {
        const bar = event.target.closest("button")?.dataset.bar;
        if (bar !== undefined) this.point([+bar], true);
      });
    }
    paper.onPoint = (bars, both) => this.point(bars, both);
    document.addEventListener("keydown", (event) => this.key(event));
    this.draw();
  }

  get now() {
    return this.asks[this.at];
  }

  look(one = this.now) {
    return one.dataset.look;
  }

  /** Goes to a question; `aloud` moves the reader there, too. */
  go(at, aloud) {
    if (at < 0 || at >= this.asks.length || this.over) return;
    this.at = at;
    this.draw();
    if (aloud) this.now.querySelector("h2").focus({ preventScroll: true });
    this.steps[at].scrollIntoView({ block: "nearest", inline: "nearest" });
    this.now.parentElement.scrollTop = 0;
  }

  /** None of it goes with nothing else. */
  chosen(one, input) {
    if (input.type === "checkbox" && input.checked) {
      const none = input.hasAttribute("data-none");
      for (const other of one.querySelectorAll('input[type="checkbox"]')) {
        if (other !== input && (none || other.hasAttribute("data-none"))) other.checked = false;
      }
    }
    this.draw();
  }

  point(bars, both) {
    if (this.over) return;
    const look = this.look();
    if (!this.now.querySelector(".pointing")) {
      say("This question asks for no bar.");
      return;
    }
    let held = this.pointed.get(look) ?? [];
    for (const bar of bars) {
      if (!held.includes(bar)) held = [...held, bar];
      else if (both) held = held.filter((other) => other !== bar);
    }
    if (held.length > MOST_POINTED) {
      say("That is enough; take a bar away first.");
      held = held.slice(0, MOST_POINTED);
    }
    held.sort((one, other) => one - other);
    // With the last finger taken away the question is open again.
    if (held.length) this.pointed.set(look, held);
    else this.pointed.delete(look);
    this.draw();
  }

  nowhere() {
    const look = this.look();
    const now = this.pointed.get(look);
    if (now && now.length === 0) this.pointed.delete(look);
    else this.pointed.set(look, []);
    this.draw();
  }

  choices(one) {
    const inputs = [...one.querySelectorAll("input")];
    const chosen = inputs.filter((input) => input.checked).map((input) => +input.value);
    return chosen.length ? chosen : null;
  }

  answered(one) {
    return Boolean(this.choices(one)) || this.pointed.has(this.look(one));
  }

  draw() {
    this.asks.forEach((one, at) => { one.hidden = this.over || at !== this.at; });
    this.steps.forEach((step, at) => {
      if (at === this.at && !this.over) step.setAttribute("aria-current", "step");
      else step.removeAttribute("aria-current");
      const answered = this.answered(this.asks[at]);
      step.classList.toggle("answered", answered);
      step.querySelector(".state").textContent = answered ? ", answered" : "";
      step.disabled = this.over;
    });
    this.back.disabled = this.at === 0 || this.over;
    this.next.disabled = this.at === this.asks.length - 1 || this.over;
    const look = this.look();
    const held = this.pointed.get(look);
    const said = this.now.querySelector(".pointed");
    if (said) {
      const hint = document.createElement("span");
      hint.className = "hint";
      hint.textContent = "Touch bars on the page.";
      const bars = (held ?? []).map((bar) => {
        const button = document.createElement("button");
        button.type = "button";
        button.dataset.bar = bar;
        button.textContent = `bar ${this.paper.label(bar)}`;
        button.setAttribute("aria-label", `Bar ${this.paper.label(bar)}: take the finger away`);
        return button;
      });
      said.replaceChildren(...(bars.length ? bars : [hint]));
      this.now.querySelector(".nowhere").setAttribute("aria-pressed", String(Boolean(held) && held.length === 0));
    }
    this.paper.pointed = this.over ? [] : held ?? [];
    this.paper.draw();
  }

  key(event) {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === "PageDown" || event.key === "PageUp") {
      event.preventDefault();
      this.paper.turn(event.key === "PageDown" ? 1 : -1);
      return;
    }
    if (this.over || event.target.closest(".place")) return;
    // Single keys count only while the questions have the focus. Source: WCAG 2.2, success criterion 2.1.4.
    const asking = event.target.closest(".asking");
    if (asking && /^[1-9]$/.test(event.key)) {
      const input = this.now.querySelectorAll("input")[+event.key - 1];
      if (!input) return;
      event.preventDefault();
      input.click();
    } else if (asking && event.key === "0") {
      this.now.querySelector(".nowhere")?.click();
    } else if ((event.key === "ArrowRight" || event.key === "ArrowLeft") && !event.target.closest("input")) {
      event.preventDefault();
      this.go(this.at + (event.key === "ArrowRight" ? 1 : -1), true);
    }
  }

  /** The time is over: what was answered stands, the part stays. */
  end() {
    this.over = true;
    this.draw();
    this.now.parentElement.hidden = true;
    this.overSaid.hidden = false;
    this.done.classList.add("first");
    this.overSaid.querySelector("h2").focus({ preventScroll: true });
  }

  async send() {
    this.done.disabled = true;
    clock.stop();
    const answers = this.asks.filter((one) => this.answered(one)).map((one) => ({
      look: this.look(one), chosen: this.choices(one), pointed: this.pointed.get(this.look(one)) ?? null,
    }));
    const { piece, player, clock: name, seed } = desk.dataset;
    try {
      const told = await ask(`/look/${piece}/answers`, {
        player: player ? +player : null, clock: name, seed: +seed, used: clock.used, answers,
      });
      location.replace((await told.json()).seen);
    } catch (error) {
      this.done.disabled = false;
      const slip = desk.querySelector(".keys");
      slip.textContent = error.message;
      say(error.message);
    }
  }
}

/** Counts the seconds down from when the page is there to be seen. */
class Clock {
  constructor() {
    this.seconds = +desk.dataset.seconds || null;
    this.said = desk.querySelector(".clock .left");
    this.rest = desk.querySelector(".clock .rest");
    this.used = 0;
  }

  start(onEnd) {
    this.began = performance.now();
    this.ticking = setInterval(() => this.tick(onEnd), 200);
  }

  tick(onEnd) {
    this.used = (performance.now() - this.began) / 1000;
    if (!this.seconds) return;
    const left = Math.max(0, Math.ceil(this.seconds - this.used));
    if (this.said.textContent !== String(left)) {
      this.said.textContent = left;
      if (left === 10) say("Ten seconds.");
    }
    // The line of pencil lead grows shorter from its right end.
    const x = 100 * Math.max(0, 1 - this.used / this.seconds);
    this.rest.setAttribute("d", `M0 2.2C${0.2 * x} 1.6 ${0.6 * x} 2.6 ${x} 2`);
    if (left === 0) {
      this.stop();
      onEnd();
    }
  }

  stop() {
    if (this.began) this.used = Math.max(this.used, (performance.now() - this.began) / 1000);
    if (this.seconds) this.used = Math.min(this.used, this.seconds);
    clearInterval(this.ticking);
  }
}

const paper = new Pointed(about);
const clock = new Clock();
const looking = new Looking(paper);
looking.now.querySelector("h2")?.focus({ preventScroll: true });
document.fonts.ready.then(() => requestAnimationFrame(() => clock.start(() => looking.end())));

// For tests in a browser.
window.foreread = { paper, looking, clock };
