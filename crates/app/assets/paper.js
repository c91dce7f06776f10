// The pages: fetched when they are looked for, touched bar by bar, dragged over; the pencil that shows where the music is.

import { piece, say } from "./house.js";

const SVG = "http://www.w3.org/2000/svg";
const calm = matchMedia("(prefers-reduced-motion: reduce)");

export class Paper {
  constructor(about) {
    this.about = about;
    this.music = about.desk.querySelector(".music");
    this.onOpen = () => {};
    this.onRound = () => {};
    this.onDrawn = () => {};
    this.onFollow = () => {};
    // On the stand nothing is touched bar by bar.
    this.resting = false;
    this.round = null;
    this.told = { bars: [], spots: [] };
    this.opened = null;
    this.watch();
    this.touch();
    this.keys();
  }

  get pages() {
    return [...this.music.querySelectorAll(".sheet-of-paper")];
  }

  page(number) {
    return this.music.querySelector(`.sheet-of-paper[data-page="${number}"]`);
  }

  /** The places of a bar; one that goes over a line's end has several. */
  places(bar) {
    return [...this.music.querySelectorAll(".place")].filter((p) => +p.dataset.bar <= bar && bar <= +p.dataset.last);
  }

  label(bar) {
    return this.about.labels[bar] ?? "";
  }

  // Pages to come.

  watch() {
    const waiting = this.music.querySelectorAll(".to-come");
    const near = new IntersectionObserver((seen) => {
      for (const { target, isIntersecting } of seen) {
        if (isIntersecting) {
          near.unobserve(target);
          this.fetch(target);
        }
      }
    }, { root: this.music, rootMargin: "150%" });
    waiting.forEach((page) => near.observe(page));
    // The rest when nothing else is to be done, so that every bar can be found.
    const later = window.requestIdleCallback ?? ((work) => setTimeout(work, 300));
    this.all = new Promise((done) => later(async () => {
      for (const page of waiting) await this.fetch(page);
      done();
    }));
  }

  async fetch(page) {
    if (page.dataset.fetching) return;
    page.dataset.fetching = "yes";
    try {
      page.replaceWith(await piece(page.dataset.from));
      this.draw();
    } catch (error) {
      delete page.dataset.fetching;
      say(error.message);
    }
  }

  // Touching and dragging.

  touch() {
    let from = null;
    const placeAt = (event) => document.elementFromPoint(event.clientX, event.clientY)?.closest?.(".place");
    this.music.addEventListener("pointerdown", (event) => {
      const place = event.target.closest(".place");
      if (!place || event.button !== 0 || this.resting) return;
      from = { bar: +place.dataset.bar, last: +place.dataset.last, moved: false, at: this.millimetres(event) };
    });
    this.music.addEventListener("pointermove", (event) => {
      if (!from) return;
      const place = placeAt(event);
      if (!place || (+place.dataset.bar === from.bar && !from.moved)) return;
      from.moved = true;
      const [one, other] = [Math.min(from.bar, +place.dataset.bar), Math.max(from.last, +place.dataset.last)];
      this.mark([one, other]);
    });
    const let_go = (event) => {
      if (!from) return;
      const { bar, moved, at } = from;
      from = null;
      if (event.type === "pointerup" && this.taken) {
        const bars = moved ? this.round : [bar, bar];
        this.round = this.taken.round;
        this.draw();
        this.taken.touched({ at, bars, moved });
      } else if (moved && event.type === "pointerup") this.chooseRound(this.round);
      else if (event.type === "pointerup" && placeAt(event)) this.open(bar);
    };
    this.music.addEventListener("pointerup", let_go);
    this.music.addEventListener("pointercancel", let_go);
  }

  /** Where on its page something was touched, in millimetres from the upper left corner. */
  millimetres(event) {
    const place = event.target.closest(".place");
    const page = place.closest(".sheet-of-paper");
    const box = page.querySelector("svg").getBoundingClientRect();
    const scale = +page.dataset.width / box.width;
    return {
      bar: +place.dataset.bar, page: +page.dataset.page,
      x: (event.clientX - box.left) * scale, y: (event.clientY - box.top) * scale,
    };
  }

  /** Fetches the pages anew that are there: something on them was changed. */
  async renew() {
    const focused = document.activeElement?.closest?.(".place")?.dataset.bar;
    const { piece: id, query } = this.about;
    await Promise.all(this.pages.filter((page) => !page.matches(".to-come")).map(async (page) => {
      const now = await piece(`/part/${id}/page/${page.dataset.page}${query}`);
      page.replaceWith(now);
    }));
    this.tip = null;
    const first = this.places(+(focused ?? 0))[0];
    if (first) {
      this.music.querySelectorAll('.place[tabindex="0"]').forEach((p) => p.setAttribute("tabindex", "-1"));
      first.setAttribute("tabindex", "0");
      if (focused !== undefined) first.focus({ preventScroll: true });
    }
    this.draw();
  }

  keys() {
    const near = (place, step) => {
      const all = [...this.music.querySelectorAll(".place")];
      return all[all.indexOf(place) + step];
    };
    // One line up or down: the bar that is nearest by its left edge.
    const line = (place, step) => {
      const all = [...this.music.querySelectorAll(".place")];
      const system = +place.dataset.system + step;
      const there = all.filter((p) => +p.dataset.system === system);
      const x = place.getBoundingClientRect().left;
      const away = (p) => Math.abs(p.getBoundingClientRect().left - x);
      return there.sort((a, b) => away(a) - away(b))[0];
    };
    this.music.addEventListener("keydown", (event) => {
      const place = event.target.closest(".place");
      if (!place || event.altKey || event.ctrlKey || event.metaKey) return;
      const ways = {
        ArrowRight: () => near(place, 1), ArrowLeft: () => near(place, -1),
        ArrowDown: () => line(place, 1), ArrowUp: () => line(place, -1),
        Home: () => this.music.querySelector(".place"),
        End: () => [...this.music.querySelectorAll(".place")].pop(),
      };
      if (ways[event.key]) {
        event.preventDefault();
        const next = ways[event.key]();
        if (!next) return;
        if (event.shiftKey) this.stretch(place, next);
        this.focus(next);
      } else if (event.key === "Enter") {
        event.preventDefault();
        if (this.taken?.overBars) this.taken.touched({ bars: [+place.dataset.bar, +place.dataset.last] });
        else this.open(+place.dataset.bar);
      } else if (event.key === " ") {
        event.preventDefault();
        event.stopPropagation();
        document.querySelector(".strip .play").click();
      }
    });
  }

  stretch(place, next) {
    this.anchor = this.round && this.anchor !== undefined ? this.anchor : +place.dataset.bar;
    const ends = [this.anchor, +next.dataset.bar];
    this.chooseRound([Math.min(...ends), Math.max(...ends, this.anchor)]);
  }

  focus(place) {
    this.music.querySelectorAll('.place[tabindex="0"]').forEach((p) => p.setAttribute("tabindex", "-1"));
    place.setAttribute("tabindex", "0");
    place.focus({ preventScroll: true });
    this.bring(place);
  }

  open(bar) {
    this.opened = bar;
    this.draw();
    const place = this.places(bar)[0];
    if (place) {
      this.music.querySelectorAll('.place[tabindex="0"]').forEach((p) => p.setAttribute("tabindex", "-1"));
      place.setAttribute("tabindex", "0");
    }
    this.onOpen(bar);
  }

  closed() {
    const bar = this.opened;
    this.opened = null;
    this.draw();
    return bar;
  }

  mark(bars) {
    this.round = bars;
    this.draw();
  }

  /** Chooses bars to go round; nothing chosen is the whole part. Says whether anything changed. */
  chooseRound(bars) {
    const was = this.round;
    this.round = bars;
    if (!bars) this.anchor = undefined;
    this.draw();
    if (was || bars) this.onRound(bars);
    return Boolean(was) && !bars;
  }

  // Showing.

  /** Shows bars, and the signs that stand at places: `page x y w h` in millimetres. */
  tell(bars, spots) {
    this.told = { bars, spots };
    this.draw();
    const place = bars.length ? this.places(bars[0])[0] : null;
    if (place) this.bring(place);
  }

  /** Scrolls a place into sight, if it is out of it. */
  bring(place) {
    const box = place.getBoundingClientRect();
    const room = this.music.getBoundingClientRect();
    if (this.resting) {
      this.onFollow(+place.closest(".sheet-of-paper").dataset.page);
      return;
    }
    if (box.top >= room.top && box.bottom <= room.bottom && box.left >= room.left && box.right <= room.right) return;
    place.scrollIntoView({ block: "center", inline: "center", behavior: calm.matches ? "instant" : "smooth" });
  }

  turn(step) {
    const behavior = calm.matches ? "instant" : "smooth";
    if (getComputedStyle(this.music).flexWrap !== "nowrap") {
      this.music.scrollBy({ top: step * this.music.clientHeight * 0.85, behavior });
      return;
    }
    // Two pages side by side: by exactly two, whatever the window is.
    const { pages, music } = this;
    const lefts = pages.map((page) => page.offsetLeft - pages[0].offsetLeft);
    const now = lefts.findLastIndex((left) => left <= music.scrollLeft + 4);
    const to = Math.max(0, Math.min(pages.length - 1, now - (now % 2) + 2 * step));
    music.scrollTo({ left: lefts[to], behavior });
  }

  draw() {
    const inside = (place, [from, to]) => +place.dataset.last >= from && +place.dataset.bar <= to;
    for (const place of this.music.querySelectorAll(".place")) {
      place.classList.toggle("told", this.told.bars.some((bar) => inside(place, [bar, bar])));
      place.classList.toggle("round", Boolean(this.round) && inside(place, this.round));
      const open = this.opened !== null && inside(place, [this.opened, this.opened]);
      place.classList.toggle("open", open);
    }
    this.music.querySelectorAll(".ring, .round-end").forEach((mark) => mark.remove());
    for (const [page, x, y, w, h] of this.told.spots) this.ring(page, x, y, w, h);
    if (this.round) this.brackets();
    this.onDrawn();
  }

  layer(page) {
    return this.page(page)?.querySelector(".places");
  }

  put(layer, name, attributes) {
    const element = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    layer.append(element);
    return element;
  }

  /** A ring round a sign, drawn by hand. */
  ring(page, x, y, w, h) {
    const layer = this.layer(page);
    if (!layer) return;
    const [cx, cy, rx, ry] = [x + w / 2, y + h / 2, Math.max(w / 2 + 1.6, 2.6), Math.max(h / 2 + 1.6, 2.6)];
    const at = (turn, more) => [cx + Math.cos(turn) * (rx + more), cy + Math.sin(turn) * (ry + more)];
    const points = [];
    for (let n = 0; n <= 13; n += 1) points.push(at(-2 + (n / 12) * 2 * Math.PI, 0.18 * Math.sin(n * 2.1) + n * 0.03));
    // From middle to middle, so that the stroke is round.
    let d = `M${points[0].map((v) => v.toFixed(2)).join(" ")}`;
    for (let n = 1; n < points.length - 1; n += 1) {
      const [x1, y1] = points[n];
      const [x2, y2] = points[n + 1];
      d += `Q${x1.toFixed(2)} ${y1.toFixed(2)} ${((x1 + x2) / 2).toFixed(2)} ${((y1 + y2) / 2).toFixed(2)}`;
    }
    this.put(layer, "path", { class: "ring", d });
  }

  /** Hooks at both ends of the bars that go round. */
  brackets() {
    const [from, to] = this.round;
    const first = this.places(from)[0];
    const last = this.places(to).pop();
    const hook = (place, x, way) => {
      if (!place) return;
      const [y, h] = [+place.getAttribute("y"), +place.getAttribute("height")];
      const d = `M${x + way * 2.2} ${y + 0.3}L${x} ${y}L${x + 0.15 * way} ${y + h}L${x + way * 2.3} ${y + h - 0.2}`;
      this.put(place.closest(".places"), "path", { class: "round-end", d });
    };
    if (first) hook(first, +first.getAttribute("x") + 0.4, 1);
    if (last) hook(last, +last.getAttribute("x") + +last.getAttribute("width") - 0.4, -1);
  }

  // The pencil.

  /** The height of a line on its page. */
  line(page, system) {
    const place = this.page(page)?.querySelector(`.place[data-system="${system}"]`);
    return place && { y: +place.getAttribute("y"), h: +place.getAttribute("height") };
  }

  /** Puts the pencil's tip at a place of a line; `follow` keeps the line in sight. */
  point(page, system, x, bar, follow) {
    const line = this.line(page, system);
    const layer = this.layer(page);
    if (!line || !layer) return;
    if (!this.tip || this.tip.parentNode !== layer) {
      this.tip?.remove();
      this.tip = this.put(layer, "g", { class: "pencil-tip", "aria-hidden": "true" });
      this.put(this.tip, "path", { class: "line" });
      this.put(this.tip, "path", { class: "wood" });
      this.put(this.tip, "path", { class: "lead" });
    }
    const [track, wood, lead] = this.tip.children;
    const y = line.y + line.h;
    // With little motion the pencil goes from bar to bar, and the bar is framed.
    track.setAttribute("d", calm.matches ? "" : `M${x} ${line.y + 1}L${x} ${y - 0.6}`);
    wood.setAttribute("d", `M${x} ${y - 0.6}l1.1 2.1l3.1 4.6l1.9 -1.3l-3.1 -4.6z`);
    lead.setAttribute("d", `M${x} ${y - 0.6}l.45 .85l.75 -.5z`);
    if (bar !== this.bar || system !== this.atSystem) {
      const turned = system !== this.atSystem;
      this.bar = bar;
      this.atSystem = system;
      this.music.querySelectorAll(".place.now").forEach((place) => place.classList.remove("now"));
      const now = this.places(bar);
      now.forEach((place) => place.classList.add("now"));
      if (follow && turned && now[0]) this.bring(now[0]);
    }
  }

  away() {
    this.tip?.remove();
    this.tip = null;
    this.bar = this.atSystem = undefined;
    this.music.querySelectorAll(".place.now").forEach((place) => place.classList.remove("now"));
  }
}
