// The margin: its notes show their places; a bar that was touched is explained in it.

import { piece, say } from "./house.js";

const numbers = (text) => (text ? text.split(" ").map(Number) : []);

export class Margin {
  constructor(about, paper) {
    this.about = about;
    this.paper = paper;
    this.whole = about.desk.querySelector(".margin");
    this.notes = this.whole.querySelector(".margin-notes");
    this.shown = this.whole.querySelector(".bar-shown");
    this.onHear = () => {};
    this.whole.addEventListener("click", (event) => this.clicked(event));
  }

  clicked(event) {
    const button = event.target.closest("button");
    if (!button) return;
    if (button.matches(".note, .point")) this.show(button);
    else if (button.matches(".back")) this.close();
    else if (button.matches(".hear-bar")) this.onHear({ bars: [+button.dataset.bar, +button.dataset.bar] });
    else if (button.matches(".hear-slowly")) this.onHear({ bars: [+button.dataset.bar, +button.dataset.bar], slowly: true });
    else if (this.onPencil && button.matches(".keep-mark, .erase-mark, .take-back, .at-note, .key-yes, .key-named, .key-back, .breathe")) this.onPencil(button);
    else if (button.matches(".hear-ornament")) this.onHear({ ornament: button.dataset.at });
  }

  /** Shows the place of a note; touched again, it is let go. */
  show(button) {
    const again = button.classList.contains("told");
    this.whole.querySelectorAll(".told").forEach((other) => other.classList.remove("told"));
    if (again) {
      this.paper.tell([], []);
      return;
    }
    if (button.matches(".note")) button.classList.add("told");
    const spots = (button.dataset.spots ?? "").split(",").filter(Boolean).map(numbers);
    const bars = numbers(button.dataset.bars);
    this.paper.tell(bars, spots);
    const said = bars.map((bar) => this.paper.label(bar));
    say(`Shown on the page: bar${said.length > 1 ? "s" : ""} ${said.join(", ")}`);
  }

  /** Fetches the notes anew: something was pencilled. What is open stays open. */
  async renew() {
    const open = [...this.notes.querySelectorAll("details[open]")].map((one) => one.dataset.section ?? one.className);
    const fresh = await piece(`/part/${this.about.piece}/margin${this.about.query}`);
    const notes = fresh.querySelector(".margin-notes");
    for (const one of notes.querySelectorAll("details")) one.open = open.includes(one.dataset.section ?? one.className);
    const [hidden, at] = [this.notes.hidden, this.whole.scrollTop];
    this.notes.replaceWith(notes);
    this.notes = notes;
    this.notes.hidden = hidden;
    this.paper.tell([], []);
    if (!hidden) this.whole.scrollTop = at;
    else if (this.asked !== undefined) await this.openBar(this.asked, true);
    return { undo: notes.dataset.undo === "true", redo: notes.dataset.redo === "true" };
  }

  async openBar(bar, again) {
    const asked = (this.asked = bar);
    try {
      const shown = await piece(`/part/${this.about.piece}/bar/${bar}${this.about.query}`);
      if (this.asked !== asked) return;
      this.shown.replaceChildren(shown);
    } catch (error) {
      say(error.message);
      return;
    }
    if (again) return;
    if (!this.notes.hidden) this.at = this.whole.scrollTop;
    this.notes.hidden = true;
    this.shown.hidden = false;
    this.whole.scrollTop = 0;
    // The heading is read aloud; those who look lose nothing.
    this.shown.querySelector("h2")?.focus({ preventScroll: true });
  }

  /** Back from the bar to the notes. Says whether a bar was shown. */
  close() {
    if (this.shown.hidden) return false;
    this.shown.hidden = true;
    this.notes.hidden = false;
    this.whole.scrollTop = this.at ?? 0;
    const bar = this.paper.closed();
    const place = bar === null ? null : this.paper.places(bar)[0];
    place?.focus({ preventScroll: true });
    return true;
  }
}
