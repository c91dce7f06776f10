// Listening: the sound is made by the app, played here, and the pencil goes along on the page.

import { ask, say } from "./house.js";

/** The steps of a metronome, in beats a minute. Common practice; below and above it they go on as they are there. */
const METRONOME = [];
for (const [from, to, step] of [[20, 60, 2], [60, 72, 3], [72, 120, 4], [120, 144, 6], [144, 304, 8]]) {
  for (let one = from; one < to; one += step) METRONOME.push(one);
}

export class Listen {
  constructor(about, paper) {
    this.about = about;
    this.paper = paper;
    this.strip = document.querySelector(".strip");
    this.play = this.strip.querySelector(".play");
    this.tempo = this.strip.querySelector('[name="tempo"]');
    this.said = this.strip.querySelector(".round-said");
    this.whole = this.strip.querySelector(".whole");
    this.caution = this.strip.querySelector(".caution");
    this.bars = null;
    this.turn = 0;
    // Whoever else shows whether it plays, how fast, and what is to be known.
    this.onChanged = () => {};
    this.play.addEventListener("click", () => this.toggle());
    this.whole.addEventListener("click", () => this.paper.chooseRound(null));
    for (const button of this.strip.querySelectorAll(".take-tempo")) {
      button.addEventListener("click", () => {
        this.tempo.value = button.dataset.tempo;
        this.again();
      });
    }
    for (const field of this.strip.querySelectorAll("input, select")) field.addEventListener("change", () => this.again());
    this.tempi();
  }

  get playing() {
    return Boolean(this.source);
  }

  field(name) {
    return this.strip.querySelector(`[name="${name}"]`);
  }

  /** Which of the tempi is in force is ringed. */
  tempi() {
    for (const button of this.strip.querySelectorAll(".take-tempo")) {
      button.setAttribute("aria-pressed", String(button.dataset.tempo === this.tempo.value));
    }
    this.onChanged?.();
  }

  choose(bars) {
    this.bars = bars;
    const [from, to] = (bars ?? []).map((bar) => this.paper.label(bar));
    this.said.textContent = !bars ? "the whole part" : from === to ? `round and round: bar ${from}` : `round and round: bars ${from}–${to}`;
    this.whole.hidden = !bars;
    say(this.said.textContent);
    this.again();
  }

  /** Something was changed: what is playing goes on with it. */
  again() {
    this.tempi();
    if (this.playing) this.start();
  }

  toggle() {
    if (this.playing || this.coming) this.stop();
    else this.start();
  }

  /** The tempo one step of a metronome slower or faster. */
  step(way) {
    const now = Number(this.tempo.value) || 60;
    const next = way > 0 ? METRONOME.find((one) => one > now) : METRONOME.findLast((one) => one < now);
    if (!next) return;
    this.tempo.value = String(next);
    this.again();
  }

  /** One bar or one ornament, once. */
  hear({ bars, slowly, ornament }) {
    const first = this.strip.querySelector(".take-tempo");
    const tempo = slowly ? first?.dataset.tempo ?? "60%" : this.tempo.value;
    this.start({ bars, tempo: ornament ? undefined : tempo, ornament, once: true });
  }

  wanted() {
    return {
      bars: this.bars ?? undefined,
      tempo: this.tempo.value || undefined,
      click: this.field("click").checked,
      count_in: this.field("count-in").checked ? 1 : 0,
      drone: this.field("drone").value || undefined,
    };
  }

  async start(once) {
    const turn = (this.turn += 1);
    this.silence();
    this.coming = true;
    this.pressed(true);
    const what = once ? { bars: once.bars, tempo: once.tempo, ornament: once.ornament } : this.wanted();
    try {
      // A browser lets sound begin only where a person has just touched something.
      this.context ??= new AudioContext();
      await this.context.resume();
      const made = await (await ask(`/part/${this.about.piece}/sound${this.about.query}`, what)).json();
      const bytes = await (await fetch(made.sound)).arrayBuffer();
      const buffer = await this.context.decodeAudioData(bytes);
      if (turn !== this.turn) return;
      this.begin(made, buffer, Boolean(this.bars) && !once);
    } catch (error) {
      if (turn !== this.turn) return;
      this.stop();
      this.caution.hidden = false;
      this.caution.textContent = error.message;
      this.onChanged();
      say(error.message);
    }
  }

  begin(made, buffer, round) {
    this.coming = false;
    this.made = made;
    this.round = round;
    this.caution.hidden = !made.caution;
    this.caution.textContent = made.caution;
    this.onChanged();
    this.source = this.context.createBufferSource();
    this.source.buffer = buffer;
    // Round and round is counted in once.
    this.source.loop = round;
    this.source.loopStart = made.begins;
    this.source.loopEnd = made.seconds;
    this.source.connect(this.context.destination);
    this.source.onended = () => this.stop();
    this.began = this.context.currentTime + 0.05;
    this.source.start(this.began);
    this.follow();
  }

  /** The time in the music, in seconds. */
  now() {
    const since = this.context.currentTime - this.began;
    const { begins, seconds } = this.made;
    if (!this.round || since < seconds) return since;
    return begins + ((since - begins) % (seconds - begins));
  }

  follow() {
    if (!this.source) return;
    const now = this.now();
    const { steps, bars } = this.made;
    const at = last(steps, (step) => step[0] <= now);
    const bar = bars[last(bars, (one) => one[0] <= now)]?.[1] ?? bars[0]?.[1];
    const step = steps[Math.max(at, 0)];
    if (step) {
      const next = steps[at + 1];
      // Between two notes of a line the pencil moves on.
      const moves = at >= 0 && next && next[1] === step[1] && next[2] === step[2] && next[3] > step[3];
      const part = moves ? Math.min(1, (now - step[0]) / Math.max(1e-3, next[0] - step[0])) : 0;
      const x = step[3] + (moves ? (next[3] - step[3]) * part : 0);
      this.paper.point(step[1], step[2], x, bar, true);
    }
    this.frame = requestAnimationFrame(() => this.follow());
  }

  silence() {
    cancelAnimationFrame(this.frame);
    if (this.source) {
      this.source.onended = null;
      this.source.stop();
      this.source.disconnect();
    }
    this.source = null;
  }

  stop() {
    this.turn += 1;
    this.coming = false;
    this.silence();
    this.paper.away();
    this.pressed(false);
  }

  pressed(on) {
    this.play.setAttribute("aria-pressed", String(on));
    this.play.textContent = on ? "Stop" : "Play";
    this.onChanged();
  }
}

/** The last of a sorted list that is so; −1 if none is. */
function last(list, isSo) {
  let [low, high] = [0, list.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (isSo(list[middle])) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}
