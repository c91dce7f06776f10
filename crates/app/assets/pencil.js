// The teacher's pencil: a sign is taken from the tray and put where the page is touched; every gesture is kept at once.

import { ask, say } from "./house.js";

// Signs that go over whole bars, as the app puts them.
const OVER_BARS = ["brackets", "strokes", "counts", "hooks", "letter"];

export class Pencil {
  constructor(about, paper, margin) {
    this.about = about;
    this.paper = paper;
    this.margin = margin;
    this.tray = document.querySelector(".tray");
    this.button = document.querySelector(".pencil-taken");
    this.words = this.tray.querySelector(".words");
    this.hint = this.tray.querySelector(".hint");
    this.button.addEventListener("click", () => this.toggle());
    this.tray.addEventListener("click", (event) => {
      const button = event.target.closest("button");
      if (!button) return;
      if (button.matches(".take")) this.take(button);
      if (button.matches(".undo")) this.back("undo");
      if (button.matches(".redo")) this.back("redo");
    });
    margin.onPencil = (button) => this.fromMargin(button);
    margin.whole.addEventListener("change", (event) => {
      const choice = event.target.closest(".finger");
      if (choice) this.send({ do: "finger", bar: +choice.dataset.bar, note: choice.dataset.note, name: choice.value });
    });
  }

  toggle() {
    // At a player's device the pencil is the teacher's.
    if (this.button.hidden) return;
    const taken = this.tray.hidden;
    this.tray.hidden = !taken;
    this.button.setAttribute("aria-pressed", String(taken));
    if (taken) this.tray.querySelector(".take").focus();
    else this.take(null);
  }

  /** Lays down what is in the hand, or the pencil itself. Says whether there was anything. */
  layDown() {
    if (this.tray.hidden) return false;
    if (this.taken) this.take(null);
    else this.toggle();
    return true;
  }

  take(button) {
    const again = button && button === this.taken;
    this.taken?.setAttribute("aria-pressed", "false");
    this.taken = again ? null : button;
    this.from = null;
    this.taken?.setAttribute("aria-pressed", "true");
    this.words.hidden = !this.taken || !("words" in this.taken.dataset);
    if (!this.words.hidden) this.words.querySelector("input").focus();
    const { sign, tool } = this.taken?.dataset ?? {};
    this.about.desk.classList.toggle("pencilling", Boolean(this.taken));
    this.say(!this.taken ? "Choose a sign, then touch the note or the bar." : tool === "rub" ? "Touch the mark to rub it out."
      : tool === "move" ? "Touch the mark, then where it is to go." : OVER_BARS.includes(sign) ? `${sign}: touch a bar, or drag over bars.` : `${sign}: touch the note.`);
    this.paper.taken = this.taken && {
      overBars: OVER_BARS.includes(sign), round: this.paper.round, touched: (where) => this.touched(where),
    };
  }

  say(words) {
    this.hint.textContent = words;
  }

  written() {
    return this.words.hidden ? "" : this.words.querySelector("input").value;
  }

  touched({ at, bars, moved }) {
    const { sign, tool } = this.taken.dataset;
    if (tool === "rub") this.send({ do: "rub", at });
    else if (tool === "move" && !this.from) {
      this.from = at;
      this.say("Now touch where it is to go.");
    } else if (tool === "move") {
      const from = this.from;
      this.from = null;
      this.send({ do: "move", at: from, to: at });
    } else if (OVER_BARS.includes(sign) && (moved || !at)) this.send({ do: "add", sign, text: this.written(), bars });
    else this.send({ do: "add", sign, text: this.written(), at });
  }

  fromMargin(button) {
    const { mark, row, choice, bar, note } = button.dataset;
    if (button.matches(".key-yes, .key-named, .key-back")) this.nameKey(button);
    else if (button.matches(".breathe")) this.breathe(button);
    else if (choice !== undefined) this.send({ do: "take-back-choice", row: +choice });
    else if (button.matches(".keep-mark")) this.send({ do: "keep", mark: +mark });
    else if (button.matches(".erase-mark")) this.send({ do: "erase", mark: +mark });
    else if (button.matches(".take-back")) this.send({ do: "take-back", row: +row });
    else if (this.taken?.dataset.sign) this.send({ do: "add", sign: this.taken.dataset.sign, text: this.written(), note: [+bar, note] });
    else say("Take the pencil and a sign first; then the note takes the mark.");
  }

  /** The key of the whole, or from a bar to another: ours with yes, another by its name, or the proposal again. */
  nameKey(button) {
    const group = button.closest(".choose-key");
    const from = button.dataset.from ?? group.dataset.from;
    const to = group.querySelector(".key-to");
    const bars = from === undefined ? null : [+from, to ? +to.value : +from];
    const named = button.matches(".key-yes") ? button.dataset
      : button.matches(".key-back") ? { tonic: "", scale: "" }
        : { tonic: group.querySelector(".key-tonic").value, scale: group.querySelector(".key-scale").value };
    this.send({ do: "key", bars, tonic: named.tonic, scale: named.scale });
  }

  breathe(button) {
    const more = button.closest(".more-breath");
    const note = more ? more.querySelector(".breath-note").value : button.dataset.note;
    const how = more ? more.querySelector(".breath-how").value : button.dataset.how;
    this.send({ do: "breathe", bar: +button.dataset.bar, note, how: how || null });
  }

  back(way) {
    if (this.button.hidden) return undefined;
    return this.send({ do: way });
  }

  /** Keeps a gesture, and shows the part as it is then. Gestures follow each other in order. */
  send(gesture) {
    this.last = (this.last ?? Promise.resolve()).then(async () => {
      try {
        const { piece, query } = this.about;
        const done = await (await ask(`/part/${piece}/pencil${query}`, gesture)).json();
        const [, now] = await Promise.all([this.paper.renew(), this.margin.renew()]);
        this.tray.querySelector(".undo").disabled = !now.undo;
        this.tray.querySelector(".redo").disabled = !now.redo;
        this.say(`${done.said}.`);
        if (this.tray.hidden) say(done.said);
      } catch (error) {
        this.say(error.message);
        if (this.tray.hidden) say(error.message);
      }
    });
    return this.last;
  }
}
