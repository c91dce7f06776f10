// What was read from paper, held against the page: one place after the other, the doubtful ones first, each put right by a key or a touch.

import { ask, piece, say } from "./house.js";

const whole = document.querySelector(".mending");
const id = whole.dataset.piece;
const held = whole.querySelector(".held");
const find = (name) => whole.querySelector(name);
const SVG = "http://www.w3.org/2000/svg";
/** Rows of a line's picture, the middle line's row, half a staff space: as the press straightens it. */
const ROWS = 240;
const MIDDLE = 112;
const STEP = 5;
/** What is shown of a line: its rows from … to. */
const TOP = 30;
const BOTTOM = 210;

/** The reading as the app told it last; the place and the sign in hand. */
let now = null;
let place = 0;
let hand = null;
/** One gesture after the other. */
let busy = Promise.resolve();
let waiting = 0;

function svg(name, attributes, ...children) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}

function element(name, className, ...children) {
  const made = document.createElement(name);
  if (className) made.className = className;
  made.append(...children);
  return made;
}

const percent = (sure) => `${Math.round(Math.min(sure, 0.99) * 100)} %`;
const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);

// What is in hand.

const line = () => now.lines[hand.system];
const sign = () => (hand.sign === null ? null : line().signs.find(({ number }) => number === hand.sign));
const mark = () => (hand.mark ? line().marks.find((m) => m.line === hand.mark[0] && m.number === hand.mark[1]) : null);
const asked = () => now.places[place];

/** The place that is asked about, if it is the one in hand. */
function question() {
  const there = asked();
  if (!there || there.system !== hand.system) return null;
  if (there.mark) return hand.mark && there.mark[0] === hand.mark[0] && there.mark[1] === hand.mark[1] ? there : null;
  return there.sign === hand.sign ? there : null;
}

function barInHand() {
  const bars = line().bars;
  const at = sign()?.bar ?? mark()?.bar ?? hand.bar;
  return bars.find(({ first, last }) => at !== null && at !== undefined && first <= at && at <= last)
    ?? bars.find(({ from, to }) => from <= hand.x && hand.x <= to) ?? bars[0] ?? null;
}

function take(there) {
  hand = { system: there.system, sign: there.sign ?? null, mark: there.mark ?? null, bar: there.bar, x: there.x };
}

function goTo(number) {
  place = Math.max(0, Math.min(number, now.places.length - 1));
  const there = asked();
  if (there) take(there);
  else if (!hand && now.lines.length) {
    const first = now.lines[0].signs[0];
    hand = { system: 0, sign: first?.number ?? null, mark: null, bar: first?.bar ?? 0, x: first?.x ?? 0 };
  }
  show();
}

/** The sign before or after, over the ends of lines. */
function beside(by) {
  const all = now.lines.flatMap(({ signs }, system) => signs.map((s) => ({ system, sign: s.number, mark: null, bar: s.bar, x: s.x })));
  const key = ({ system, x }) => system * 1e6 + x;
  const here = key({ system: hand.system, x: sign()?.x ?? mark()?.x ?? hand.x });
  const next = by > 0 ? all.find((s) => key(s) > here + 0.01) : all.findLast((s) => key(s) < here - 0.01);
  if (next) {
    hand = next;
    show();
  }
}

// What is seen.

function ring(x, y, size, name) {
  // A ring as a pencil draws it: not quite round, not quite closed.
  const d = `M${x - size} ${y + 2}C${x - size - 1} ${y - size * 0.9} ${x + size * 0.8} ${y - size * 1.1} ${x + size} ${y - 1}S${x - size * 0.6} ${y + size * 1.25} ${x - size - 1} ${y - 3}`;
  return svg("path", { d, class: name });
}

/** How high a sign stands in its line's picture. */
function height(main) {
  const head = /^n(-?\d+)$/.exec(main);
  return head ? MIDDLE - (Number(head[1]) - 4) * STEP : MIDDLE;
}

function pictured(system, from, to, title, [top, bottom], ...over) {
  const of = now.lines[system];
  const [left, width] = [Math.max(0, from), Math.max(60, Math.min(to, of.width) - Math.max(0, from))];
  return svg("svg", { viewBox: `${left} ${top} ${width} ${bottom - top}`, role: "img", "aria-label": title },
    svg("image", { href: `/paper/${id}/line/${system}`, x: 0, y: 0, width: of.width, height: ROWS, preserveAspectRatio: "none" }), ...over);
}

function around() {
  const there = sign() ?? mark();
  if (!there) return [];
  const y = hand.mark ? (hand.mark[0] === "road" ? MIDDLE - 45 : MIDDLE + 50) : height(there.main);
  return [ring(there.x, y, /^n/.test(there.main ?? "") ? 11 : 17, "in-hand")];
}

function shownBar(bar) {
  const name = bar ? `bar ${bar.label}` : "this line";
  const [from, to] = bar ? [bar.from, bar.to] : [0, line().width];
  // As high as its notes go, and what stands over and under them.
  const high = line().signs.filter(({ x, main }) => from <= x && x <= to && /^n/.test(main)).map(({ main }) => height(main));
  const rows = [Math.max(0, Math.min(62, ...high.map((y) => y - 34))), Math.min(ROWS, Math.max(172, ...high.map((y) => y + 34)))];
  find(".scan .drawn").replaceChildren(pictured(hand.system, from - 14, to + 14, `${capital(name)} on paper`, rows, ...around()));
  engraved(find(".ours .drawn"), bar ? [bar.first, bar.last] : null, `${capital(name)} as it was read`);
}

/** Bars as they are read now; what was asked for last is what is shown. */
const wanted = new WeakMap();
async function engraved(into, bars, title) {
  const key = bars ? `${bars[0]}/${bars[1]}?now=${now.gestures}.${now.changes ?? 0}` : "";
  if (wanted.get(into) === key) return;
  wanted.set(into, key);
  if (!bars) {
    into.replaceChildren();
    return;
  }
  try {
    const drawn = await piece(`/paper/${id}/bars/${key}`);
    if (wanted.get(into) !== key) return;
    into.replaceChildren(drawn);
    const picture = into.querySelector("svg");
    picture?.setAttribute("role", "img");
    picture?.setAttribute("aria-label", title);
  } catch (error) {
    if (wanted.get(into) === key) into.textContent = error.message;
  }
}

function shownLine() {
  const of = line();
  const bar = barInHand();
  const over = [];
  if (bar) over.push(svg("path", { class: "bar-in-hand", d: `M${bar.from + 2} ${TOP + 8}v-5h${Math.max(4, bar.to - bar.from - 4)}v5` }));
  for (const { from, to, off } of of.bars) if (off) over.push(svg("path", { class: "off", d: `M${from + 3} ${BOTTOM - 6}q${(to - from) / 4} -5 ${(to - from) / 2} 0t${(to - from) / 2 - 6} 0` }));
  const inHand = sign();
  for (const there of of.signs) {
    const y = height(there.main);
    const touch = svg("rect", { class: `sign${there.sure < 0.75 ? " doubtful" : ""}`, x: there.x - 7, y: y - 22, width: 14, height: 44, role: "button",
      tabindex: there === inHand ? 0 : -1, "aria-label": `${there.taken}, ${percent(there.sure)} sure`, "aria-pressed": String(there === inHand), "data-sign": there.number });
    over.push(touch);
  }
  for (const [at, there] of of.marks.entries()) {
    const y = there.line === "road" ? MIDDLE - 45 : MIDDLE + 50;
    const held = there === mark();
    over.push(svg("rect", { class: `sign${there.sure < 0.75 ? " doubtful" : ""}`, x: there.x - 10, y: y - 9, width: 20, height: 18, role: "button",
      tabindex: held ? 0 : -1, "aria-label": `${there.taken}, ${percent(there.sure)} sure`, "aria-pressed": String(held), "data-mark": at }));
  }
  const last = of.bars.at(-1);
  find(".paper-line").replaceChildren(pictured(hand.system, 0, of.width, `Page ${of.page}, line ${of.line} on paper`, [TOP, BOTTOM], ...over, ...around()));
  find(".paper-line svg").setAttribute("role", "group");
  engraved(find(".our-line"), last ? [of.bars[0].first, last.last] : null, "");
}

function button(words, does, key) {
  const made = element("button", "", words);
  made.type = "button";
  made.addEventListener("click", () => {
    // What is pressed may be gone in a moment; keys go on from the page.
    held.focus();
    then(does);
  });
  if (key) made.setAttribute("aria-keyshortcuts", key);
  return made;
}

function shownReadings() {
  const there = sign() ?? mark();
  const about = question();
  const taken = about ? about.taken : there?.taken ?? "nothing";
  const sure = about && about.sure === 0 ? "" : there ? `, ${percent(there.sure)} sure` : "";
  // Of a bar or something with one end, the sign in hand is said, too: it is what the keys change.
  const inHand = about && about.sure === 0 && there ? ` In hand: ${there.taken}, ${percent(there.sure)} sure.` : "";
  find(".taken").textContent = `${about ? `${capital(about.why)}. ` : ""}Taken for: ${taken}${sure}.${inHand}`;
  const list = readings().map((one, at) => button(`${at + 1}  ${one.said}${one.sure ? ` (${percent(one.sure)})` : ""}`, () => chosen(one), String(at + 1)));
  find(".readings").replaceChildren(button("It is right so", right, "Enter"), ...list);
}

/** What the sign in hand could be, the likeliest first; dynamics and road signs by what stands there most. */
function readings() {
  const about = question();
  const found = about?.others.length ? about.others : sign()?.others ?? [];
  if (found.length || !mark()) return found.slice(0, 9);
  const names = hand.mark[0] === "dynamic" ? ["p", "mp", "mf", "f", "ff", "cresc", "dim"] : ["v1", "v2", "vend", "segno", "coda", "breath"];
  return [{ said: "nothing stands here", mark: null }, ...names.filter((name) => name !== mark().name).map((name) => ({ said: name, mark: name }))].slice(0, 9);
}

function shownPlaces() {
  const count = now.places.length;
  const off = now.off === 1 ? "1 bar does not add up" : `${now.off} bars do not add up`;
  find(".count").textContent = `${count === 0 ? "Every place is settled" : `${count} ${count === 1 ? "place" : "places"} to look at`}; ${now.off ? off : "all bars add up"}.`;
  const list = now.places.slice(0, 200).map((there, at) => {
    const words = `${there.label ? `Bar ${there.label}` : `Line ${there.system + 1}`}: ${there.taken}`;
    const way = button(words, () => goTo(at));
    if (at === place && question()) way.setAttribute("aria-current", "true");
    return element("li", "", way);
  });
  find(".places").replaceChildren(...list);
  find(".undo").disabled = !now.gestures;
  find(".test-page").setAttribute("aria-pressed", String(now.test_page));
}

function show() {
  if (!hand) {
    find(".where").textContent = "Nothing was read";
    return;
  }
  const of = line();
  const bar = barInHand();
  find(".where").textContent = `Page ${of.page}, line ${of.line}${bar ? `, bar ${bar.label}` : ""}`;
  shownBar(bar);
  shownLine();
  shownReadings();
  shownPlaces();
}

// What is put right.

function gesture(address, what) {
  waiting += 1;
  busy = busy.then(async () => {
    try {
      const told = await (await ask(`/paper/${id}${address}`, what)).json();
      told.changes = (now?.changes ?? 0) + 1;
      now = told;
      const said = told.changed.map((words) => element("li", "", words));
      if (said.length) find(".changed").replaceChildren(...said);
      return true;
    } catch (error) {
      find(".taken").textContent = error.message;
      say(error.message);
      return false;
    } finally {
      waiting -= 1;
      whole.dataset.settled = String(waiting === 0);
    }
  });
  whole.dataset.settled = "false";
  return busy;
}

/** Puts it right; then on to the next place, if this one was asked about, or stays. */
async function edit(edits, on) {
  const about = question();
  if (!(await gesture("/edits", { edits }))) return;
  if (on && about) goTo(place);
  else {
    place = Math.min(place, Math.max(0, now.places.length - 1));
    show();
  }
}

const at = () => ({ system: hand.system, number: hand.sign });
const change = (what) => ({ do: "change", at: at(), change: what });
const besides = (name) => ({ do: "beside", system: hand.system, line: hand.mark[0], number: hand.mark[1], name });

function chosen(one) {
  if ("mark" in one) return edit([besides(one.mark)], true);
  return edit([change(one.change)], true);
}

function right() {
  const about = question();
  if (hand.mark) return mark() && edit([besides(mark().name)], true);
  if (hand.sign === null) return null;
  const kind = sign()?.main.split(":")[0];
  return edit([{ do: "right", at: at(), about: about?.about ?? ({ clef: "clef", key: "key", metre: "metre" }[kind] ?? "sign") }], true);
}

function step(by) {
  const head = /^n(-?\d+)$/.exec(sign()?.main ?? "");
  if (head) return edit([change({ becomes: `n${Math.max(-12, Math.min(22, Number(head[1]) + by))}` })], false);
  return null;
}

const isNote = () => /^(n-?\d+|rest)$/.test(sign()?.main ?? "");
const VALUES = { w: 2, h: 3, q: 4, e: 5, s: 6, t: 7 };
const ACCIDENTALS = { none: 0, sharp: 1, flat: 2, natural: 3 };

function value(name) {
  return isNote() ? edit([change({ value: [VALUES[name], sign().dots] })], false) : null;
}

function dot() {
  return isNote() ? edit([change({ value: [sign().value || 4, (sign().dots + 1) % 3] })], false) : null;
}

function accidental(name) {
  return isNote() ? edit([change({ answer: ["accidental", ACCIDENTALS[name]] })], false) : null;
}

/** A note or rest half way to the sign after the one in hand; it is in hand then. */
async function add(main) {
  const here = sign()?.x ?? hand.x;
  const next = line().signs.find(({ x }) => x > here + 1)?.x ?? Math.min(line().width - 2, here + 40);
  const x = (here + next) / 2;
  const known = new Set(line().signs.map(({ number }) => number));
  const like = sign() && isNote() ? sign().value || 4 : 4;
  const position = /^n/.test(sign()?.main ?? "") && main !== "rest" ? sign().main : main;
  if (!(await gesture("/edits", { edits: [{ do: "add", system: hand.system, x, main: position, value: like }] }))) return;
  const added = line().signs.find(({ number }) => !known.has(number));
  if (added) hand = { system: hand.system, sign: added.number, mark: null, bar: added.bar, x: added.x };
  place = Math.min(place, Math.max(0, now.places.length - 1));
  show();
}

async function remove() {
  if (hand.mark) return edit([besides(null)], true);
  const x = sign()?.x;
  const { system, bar } = hand;
  const about = question();
  if (x === undefined || !(await gesture("/edits", { edits: [change("nothing")] }))) return null;
  if (about) {
    goTo(place);
    return null;
  }
  const near = now.lines[system].signs.reduce((best, s) => (!best || Math.abs(s.x - x) < Math.abs(best.x - x) ? s : best), null);
  hand = { system, sign: near?.number ?? null, mark: null, bar: near?.bar ?? bar, x };
  show();
  return null;
}

async function undo() {
  if (!now.gestures || !(await gesture("/undo", {}))) return;
  place = Math.min(place, Math.max(0, now.places.length - 1));
  // What was undone may have made the sign in hand.
  if (hand.sign !== null && !sign()) goTo(place);
  else show();
}

const DOES = {
  before: () => goTo(question() ? place - 1 : place),
  after: () => goTo(question() ? place + 1 : place),
  left: () => beside(-1),
  right: () => beside(1),
  up: () => step(1),
  down: () => step(-1),
  sharp: () => accidental("sharp"),
  flat: () => accidental("flat"),
  natural: () => accidental("natural"),
  none: () => accidental("none"),
  w: () => value("w"),
  h: () => value("h"),
  q: () => value("q"),
  e: () => value("e"),
  s: () => value("s"),
  t: () => value("t"),
  dot,
  tie: () => (isNote() ? edit([change({ flag: ["tie", !sign().tie] })], false) : null),
  remove,
  add: () => add("n4"),
  rest: () => add("rest"),
};

const KEYS = {
  PageUp: "before", PageDown: "after", ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down",
  "#": "sharp", b: "flat", n: "natural", 0: "none", w: "w", h: "h", q: "q", e: "e", s: "s", t: "t", ".": "dot",
  y: "tie", Delete: "remove", Backspace: "remove", a: "add", r: "rest",
};

/** One key after the other: each acts on what the one before has left. */
let keys = Promise.resolve();
function then(does) {
  keys = keys.then(() => (now && hand ? does() : null)).catch((error) => say(error.message));
}

held.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) {
    if ((event.ctrlKey || event.metaKey) && event.key === "z") {
      event.preventDefault();
      then(undo);
    }
    return;
  }
  // A button in the tray is pressed by Enter and Space as anywhere.
  const onButton = event.target.closest("button");
  if (event.key === "Enter" && !onButton) {
    event.preventDefault();
    then(right);
  } else if (event.key === "z") {
    event.preventDefault();
    then(undo);
  } else if (/^[1-9]$/.test(event.key)) {
    event.preventDefault();
    then(() => (readings()[Number(event.key) - 1] ? chosen(readings()[Number(event.key) - 1]) : null));
  } else if (KEYS[event.key]) {
    event.preventDefault();
    then(DOES[KEYS[event.key]]);
  }
});

whole.querySelector(".tools").addEventListener("click", ({ target }) => {
  const does = target.closest("button")?.dataset.does;
  if (does) then(DOES[does]);
});

find(".paper-line").addEventListener("click", ({ target }) => {
  const touched = target.closest("[data-sign], [data-mark]");
  if (!touched) return;
  if (touched.dataset.mark) {
    const there = line().marks[Number(touched.dataset.mark)];
    hand = { system: hand.system, sign: null, mark: [there.line, there.number], bar: there.bar, x: there.x };
    show();
    held.focus();
    return;
  }
  const number = Number(touched.dataset.sign);
  const there = line().signs.find((s) => s.number === number);
  hand = { system: hand.system, sign: number, mark: null, bar: there.bar, x: there.x };
  show();
  held.focus();
});

find(".undo").addEventListener("click", () => then(undo));
find(".test-page").addEventListener("click", () => then(async () => {
  if (await gesture("/test-page", { keep: !now.test_page })) show();
}));

try {
  now = await (await fetch(`/paper/${id}/reading`)).json();
  whole.dataset.settled = "true";
  goTo(0);
  held.focus();
} catch (error) {
  find(".where").textContent = error.message;
}
