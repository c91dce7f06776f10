// On the stand: nothing but the page, or two where the stand is wide. A foot pedal turns them, and nothing else happens.

import { say } from "./house.js";

// What pedals send, by how they are set.
const ON = ["PageDown", "ArrowRight", "ArrowDown", " ", "Enter"];
const BACK = ["PageUp", "ArrowLeft", "ArrowUp", "Backspace"];
// This share of the page, from the left, turns back when it is touched.
const LEFT = 0.3;

export class Stand {
  constructor(about, paper, listen) {
    this.about = about;
    this.paper = paper;
    this.listen = listen;
    this.tools = document.querySelector(".stand-tools");
    this.where = this.tools.querySelector(".which-page");
    this.at = 0;
    // Whether she has turned on by herself, before the music was there.
    this.ahead = false;
    this.wide = matchMedia("(min-aspect-ratio: 6/5)");
    this.wide.addEventListener("change", () => this.lay());
    document.querySelector(".stand-up").addEventListener("click", () => this.up());
    this.tools.addEventListener("click", (event) => {
      if (event.target.matches(".to-desk")) this.down();
      if (event.target.matches(".turn-on")) this.turn(1);
      if (event.target.matches(".turn-back")) this.turn(-1);
      if (event.target.matches(".large")) this.large();
      if (event.target.matches(".play")) listen.toggle();
      if (event.target.matches(".slower")) listen.step(-1);
      if (event.target.matches(".faster")) listen.step(1);
      // Touched with a finger, it leaves the keys to the pedal.
      if (event.detail && this.is) paper.music.focus({ preventScroll: true });
    });
    listen.onChanged = () => this.heard();
    this.heard();
    paper.music.addEventListener("click", (event) => {
      if (!this.is) return;
      const box = paper.music.getBoundingClientRect();
      this.turn(event.clientX - box.left < LEFT * box.width ? -1 : 1);
    });
    // Before anything else hears of it.
    document.addEventListener("keydown", (event) => this.key(event), { capture: true });
    paper.onDrawn = () => this.lay();
    if (location.hash === "#stand") this.up();
  }

  get is() {
    return document.body.classList.contains("on-stand");
  }

  /** Pages seen at once. */
  get many() {
    return this.wide.matches && this.paper.pages.length > 1 ? 2 : 1;
  }

  up() {
    document.body.classList.add("on-stand");
    this.paper.resting = true;
    history.replaceState(null, "", "#stand");
    this.lay();
    this.paper.music.focus({ preventScroll: true });
    this.awake();
    this.tell();
  }

  down() {
    document.body.classList.remove("on-stand");
    this.paper.resting = false;
    history.replaceState(null, "", location.pathname + location.search);
    this.lock?.release().catch(() => {});
    this.lock = null;
    document.querySelector(".stand-up").focus();
    this.paper.page(this.at)?.scrollIntoView({ block: "start", behavior: "instant" });
  }

  /** A stand does not go dark in the middle of a line, where the browser lets us say so. */
  async awake() {
    try {
      this.lock = await navigator.wakeLock?.request("screen");
    } catch { /* Then the tablet's own settings hold. */ }
  }

  /** The same part in large print, or in the usual size again. */
  large() {
    const said = new URLSearchParams(location.search);
    if (said.has("print")) said.delete("print");
    else said.set("print", "large");
    const search = said.toString();
    location.href = `${location.pathname}${search && `?${search}`}#stand`;
  }

  key(event) {
    if (!this.is || event.altKey || event.ctrlKey || event.metaKey || event.key === "Tab" || event.key === "Shift") return;
    const pressing = event.target.closest("button") && (event.key === " " || event.key === "Enter");
    if (pressing) return;
    event.stopImmediatePropagation();
    const step = ON.includes(event.key) ? 1 : BACK.includes(event.key) ? -1 : 0;
    if (event.key === "Escape") {
      if (this.listen.playing || this.listen.coming) this.listen.stop();
      else this.down();
    }
    if (step) {
      event.preventDefault();
      // A pedal that is held down turns once.
      if (!event.repeat) this.turn(step);
    }
  }

  turn(step) {
    const to = this.at + step * this.many;
    if (to < 0 || to >= this.paper.pages.length) {
      this.tell(to < 0 ? "This is the first page." : "This is the last page.");
      return;
    }
    this.at = to;
    this.ahead = step > 0 && this.listen.playing;
    this.lay();
    this.tell();
  }

  /** Shows a page; where two are shown, the two that belong together. The music turns no page back that she has turned on. */
  show(page) {
    if (this.ahead && this.listen.playing && page < this.at) return;
    this.ahead = false;
    this.at = page;
    this.lay();
    this.tell();
  }

  lay() {
    const { many, paper } = this;
    this.at -= this.at % many;
    for (const page of paper.pages) {
      const number = +page.dataset.page;
      page.classList.toggle("up", number >= this.at && number < this.at + many);
    }
    paper.pages.filter((page) => this.is && page.matches(".up.to-come")).forEach((page) => paper.fetch(page));
    document.body.classList.toggle("two-up", many === 2);
  }

  /** Whether it plays and how fast, and what is to be known of it. */
  heard() {
    const on = this.listen.play.getAttribute("aria-pressed");
    const play = this.tools.querySelector(".play");
    play.setAttribute("aria-pressed", on);
    play.textContent = this.listen.play.textContent;
    const tempo = this.tools.querySelector(".tempo-now");
    const said = this.listen.tempo.value ? `${tempo.dataset.beat} = ${this.listen.tempo.value}` : "";
    if (tempo.textContent !== said) tempo.textContent = said;
    const caution = this.tools.querySelector(".caution");
    caution.hidden = this.listen.caution.hidden;
    caution.textContent = this.listen.caution.textContent;
  }

  tell(words) {
    const all = this.paper.pages.length;
    const last = Math.min(this.at + this.many, all);
    const pages = this.at + 1 === last ? `Page ${last}` : `Pages ${this.at + 1} and ${last}`;
    this.where.textContent = words ?? `${pages} of ${all}`;
    say(this.where.textContent);
  }
}
