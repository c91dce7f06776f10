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
const text = () => (hand.text ? line().texts.find((t) => t.beyond === hand.text.beyond && t.number === hand.text.number) ?? null : null);
const mark = () => (hand.mark ? line().marks.find((m) => m.line === hand.mark[0] && m.number === hand.mark[1]) : null);
const asked = () => now.places[place];

/** The place that is asked about, if it is the one in hand. */
function question() {
  const there = asked();
  if (!there || there.system !== hand.system) return null;
  if (there.text) return hand.text && there.text.beyond === hand.text.beyond && there.text.number === hand.text.number ? there : null;
  if (there.mark) return hand.mark && there.mark[0] === hand.mark[0] && there.mark[1] === hand.mark[1] ? there : null;
  return there.sign === hand.sign ? there : null;
}

function barInHand() {
  const bars = line().bars;
  const at = sign()?.bar ?? mark()?.bar ?? text()?.bar ?? hand.bar;
  return bars.find(({ first, last }) => at !== null && at !== undefined && first <= at && at <= last)
    ?? bars.find(({ from, to }) => from <= hand.x && hand.x <= to) ?? bars[0] ?? null;
}

function take(there) {
  hand = { system: there.system, sign: there.sign ?? null, mark: there.mark ?? null, text: there.text ?? null, bar: there.bar, x: there.x };
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

/** The text or the sign beside the staff before or after, over the ends of lines and round the piece. */
function aside(by) {
  const all = now.lines.flatMap(({ marks, texts }, system) => [
    ...marks.map((m) => ({ system, sign: null, mark: [m.line, m.number], bar: m.bar, x: m.x, order: m.x })),
    ...texts.map((t) => ({ system, sign: null, mark: null, text: { beyond: t.beyond, number: t.number }, bar: t.bar, x: t.beyond ? 0 : t.box[0], order: t.beyond ? t.box[1] - 1e5 : t.box[0] })),
  ].sort((a, b) => a.order - b.order));
  const same = (a) => a.system === hand.system && (hand.text ? a.text && a.text.beyond === hand.text.beyond && a.text.number === hand.text.number
    : hand.mark && a.mark && a.mark[0] === hand.mark[0] && a.mark[1] === hand.mark[1]);
  const here = all.findIndex(same);
  const after = all.findIndex((a) => a.system > hand.system || (a.system === hand.system && a.order > hand.x));
  const next = here >= 0 ? here + by : by > 0 ? Math.max(0, after) : (after < 0 ? all.length : after) - 1;
  if (!all.length) return;
  // After the last comes the first.
  hand = all[(next + all.length) % all.length];
  show();
}

// What is seen.

/** A pencil's loop round words. */
function loop([x, y, w, h]) {
  const d = `M${x - 5} ${y + h / 2}C${x - 6} ${y - 5} ${x + w * 0.2} ${y - 6} ${x + w * 0.6} ${y - 5}S${x + w + 7} ${y - 2} ${x + w + 5} ${y + h * 0.6}S${x + w * 0.7} ${y + h + 6} ${x + w * 0.3} ${y + h + 5}S${x - 7} ${y + h + 2} ${x - 6} ${y + h * 0.4}`;
  return svg("path", { d, class: "in-hand" });
}

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
  if (text()) return text().beyond ? [] : [loop(text().box)];
  const there = sign() ?? mark();
  if (!there) return [];
  const y = hand.mark ? (hand.mark[0] === "road" ? MIDDLE - 45 : MIDDLE + 50) : height(there.main);
  return [ring(there.x, y, /^n/.test(there.main ?? "") ? 11 : 17, "in-hand")];
}

/** Words above the first line of a page or below its last, cut out of the page. */
function shownWords(there) {
  const [x, y, w, h] = there.box;
  const room = Math.max(h, 20);
  find(".scan .drawn").replaceChildren(svg("svg", { viewBox: `${x - room} ${y - room} ${w + 2 * room} ${h + 2 * room}`, role: "img", "aria-label": "The words on paper" },
    svg("image", { href: `/paper/${id}/page/${there.page}`, x: 0, y: 0 }), loop(there.box)));
}

function shownBar(bar) {
  if (text()?.beyond) {
    shownWords(text());
    engraved(find(".ours .drawn"), bar ? [bar.first, bar.last] : null, "");
    return;
  }
  const name = bar ? `bar ${bar.label}` : "this line";
  let [from, to] = bar ? [bar.from, bar.to] : [0, line().width];
  const words = text()?.box;
  if (words) [from, to] = [Math.min(from, words[0]), Math.max(to, words[0] + words[2])];
  // As high as its notes go, and what stands over and under them.
  const high = line().signs.filter(({ x, main }) => from <= x && x <= to && /^n/.test(main)).map(({ main }) => height(main));
  if (mark()) high.push(mark().line === "road" ? MIDDLE - 35 : MIDDLE + 35);
  if (words) high.push(words[1] + 26, words[1] + words[3] - 26);
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
  let [top, bottom] = [TOP, BOTTOM];
  for (const [at, there] of of.texts.entries()) {
    if (there.beyond) continue;
    const held = there === text();
    const [x, y, w, h] = there.box;
    [top, bottom] = [Math.max(0, Math.min(top, y - 6)), Math.min(ROWS, Math.max(bottom, y + h + 6))];
    over.push(svg("rect", { class: `sign words${there.doubt ? " doubtful" : ""}${there.kind ? "" : " left-out"}`, x: x - 2, y: y - 2, width: w + 4, height: h + 4, role: "button",
      tabindex: held ? 0 : -1, "aria-label": `${there.taken}, ${percent(there.sure)} sure`, "aria-pressed": String(held), "data-text": at }));
  }
  const last = of.bars.at(-1);
  find(".paper-line").replaceChildren(pictured(hand.system, 0, of.width, `Page ${of.page}, line ${of.line} on paper`, [top, bottom], ...over, ...around()));
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
  const there = sign() ?? mark() ?? text();
  const about = question();
  const taken = about ? about.taken : there?.taken ?? "nothing";
  const sure = about && about.sure === 0 ? "" : there ? `, ${percent(there.sure)} sure` : "";
  // Of a bar or something with one end, the sign in hand is said, too: it is what the keys change.
  const inHand = about && about.sure === 0 && there ? ` In hand: ${there.taken}, ${percent(there.sure)} sure.` : "";
  find(".taken").textContent = `${about ? `${capital(about.why)}. ` : ""}Taken for: ${taken}${sure}.${inHand}`;
  const list = readings().map((one, at) => button(`${at < 9 ? `${at + 1}  ` : ""}${one.said}${one.sure ? ` (${percent(one.sure)})` : ""}`, () => chosen(one), at < 9 ? String(at + 1) : null));
  find(".readings").replaceChildren(button("It is right so", right, "Enter"), ...list);
}

/** What the sign in hand could be, the likeliest first; dynamics and road signs by what stands there most. */
function readings() {
  const about = question();
  if (text()) return textReadings();
  // What was left out comes in again; that it was right to leave it out is said as of anything else.
  if (about?.left_out) {
    const [side, number, name] = about.left_out;
    return [{ said: `it is printed: ${SAID[name] ?? name}`, mark: name, of: [side, number] }];
  }
  const found = about?.others.length ? about.others : sign()?.others ?? [];
  const bar = /^bar:/.test(sign()?.main ?? "");
  if (bar) {
    const kinds = Object.entries(BAR_LINES).filter(([name]) => name !== sign().main && !found.some(({ change }) => change.becomes === name));
    return [...found, ...kinds.map(([name, said]) => ({ said, change: { becomes: name } }))].slice(0, 9);
  }
  if (found.length || !mark()) return found.slice(0, 9);
  const names = hand.mark[0] === "dynamic"
    ? ["p", "mp", "mf", "f", "ff", "cresc", "dim", "pp", "sf", "fp", "sfz", "fz", "ppp", "fff", "cresc_end", "dim_end"]
    : ["v1", "v2", "vend", "segno", "coda", "breath", "caesura", "8va", "ott_end"];
  return [{ said: "nothing stands here", mark: null }, ...names.filter((name) => name !== mark().name).map((name) => ({ said: SAID[name] ?? name, mark: name }))];
}

const BAR_LINES = { "bar:single": "bar line", "bar:double": "double bar line", "bar:final": "final bar line", "bar:rep_start": "repeat begins", "bar:rep_end": "repeat ends", "bar:rep_both": "repeat ends and begins" };
const SAID = { cresc: "crescendo hairpin", dim: "diminuendo hairpin", cresc_end: "crescendo hairpin ends", dim_end: "diminuendo hairpin ends",
  v12: "first and second ending begin", v123: "first to third ending begin", v3: "third ending begins", v34: "third and fourth ending begin", v4: "fourth ending begins",
  v1: "first ending begins", v2: "second ending begins", vend: "ending bracket ends", breath: "breath mark", ott_end: "end of the ottava" };

/** What the text in hand could be: its letters as they were read, no text, or of another kind. */
function textReadings() {
  const there = text();
  const kinds = [...find(".words-here .kind").options].filter(({ value }) => value !== there.kind && !["bar_number", "other"].includes(value));
  const read = there.kind && !there.mark && there.read !== there.text ? [{ said: `as it was read: ${there.read}`, text: { text: there.read, is: there.kind } }] : [];
  return [...read, { said: "it is no text", text: { text: null } }, ...kinds.map(({ value, label }) => ({ said: label, text: { text: there.text, is: value, mark: there.mark } }))];
}

/** The text in hand, in the fields; where there is none, they are as she left them. */
let filled = false;
function shownForm() {
  const there = text();
  const names = whole.querySelector(".words-here");
  for (const does of ["keepText", "noText"]) names.querySelector(`[data-does="${does}"]`).disabled = !there;
  if (names.contains(document.activeElement)) return;
  if (!there) {
    // What was in hand is not what is added next.
    if (filled) for (const [name, value] of [[".text", ""], [".note", ""], [".dots", "0"], [".value", ""]]) names.querySelector(name).value = value;
    filled = false;
    shownMetronome();
    return;
  }
  filled = true;
  names.querySelector(".text").value = there.text;
  names.querySelector(".kind").value = there.kind ?? "expression";
  names.querySelector(".note").value = there.mark ? String(there.mark.note) : "";
  names.querySelector(".dots").value = String(there.mark?.dots ?? 0);
  names.querySelector(".value").value = there.mark?.value ?? "";
  shownMetronome();
}

/** A metronome mark goes with a tempo. */
function shownMetronome() {
  find(".words-here .metronome").hidden = find(".words-here .kind").value !== "tempo";
}
find(".words-here .kind").addEventListener("change", shownMetronome);

/** What the fields say. */
function written() {
  const get = (name) => find(`.words-here ${name}`).value.trim();
  const mark = get(".kind") === "tempo" && get(".note") ? { note: Number(get(".note")), dots: Number(get(".dots")), value: get(".value") } : null;
  return { text: get(".text"), is: get(".kind"), mark };
}

function keepText() {
  const there = text();
  if (!there) return null;
  const fields = written();
  // What was left as it is needs no word on what it is.
  const is = fields.is === there.kind && fields.is === "other" ? null : fields.is;
  return edit([textEdit({ ...fields, is })], true);
}

async function addText() {
  const fields = written();
  const known = new Set(line().texts.map(({ number, beyond }) => `${beyond}${number}`));
  const x = Math.max(0, Math.min(line().width, sign()?.x ?? mark()?.x ?? hand.x));
  if (!(await gesture("/edits", { edits: [{ do: "add_text", system: hand.system, x, ...fields }] }))) return;
  delete whole.dataset.adding;
  const added = line().texts.find(({ number, beyond }) => !known.has(`${beyond}${number}`));
  if (added) hand = { system: hand.system, sign: null, mark: null, text: { beyond: false, number: added.number }, bar: added.bar, x };
  place = Math.min(place, Math.max(0, now.places.length - 1));
  show();
}

/** The sign that is chosen in the list, where the one in hand stands. */
async function put() {
  const [kind, name] = find(".sign-here").value.split(":");
  if (kind === "bar") return add(`bar:${name}`);
  const line_of = kind === "dynamic" ? "dynamic" : "road";
  const beside = (at, called) => ({ do: "add_beside", system: hand.system, line: line_of, x: at, name: called });
  const x = sign()?.x ?? mark()?.x ?? hand.x;
  const bar = barInHand();
  const edits = kind === "ending" && bar ? [beside(bar.from + 4, name), beside(Math.min(bar.to, line().width) - 4, "vend")] : [beside(x, name)];
  const known = new Set(line().marks.map((m) => `${m.line}${m.number}`));
  if (!(await gesture("/edits", { edits }))) return null;
  const added = line().marks.find((m) => !known.has(`${m.line}${m.number}`));
  if (added) hand = { system: hand.system, sign: null, mark: [added.line, added.number], text: null, bar: added.bar, x: added.x };
  place = Math.min(place, Math.max(0, now.places.length - 1));
  show();
  return null;
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
  // Of the tools, those that fit what is in hand.
  whole.dataset.hand = text() ? "text" : mark() ? "mark" : "sign";
  find(".where").textContent = `Page ${of.page}, line ${of.line}${bar ? `, bar ${bar.label}` : ""}`;
  shownBar(bar);
  shownLine();
  shownReadings();
  shownForm();
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
    if ((hand.text && !text()) || (hand.mark && !mark())) hand = { ...hand, mark: null, text: null, sign: nearest(hand.system, hand.x) };
    place = Math.min(place, Math.max(0, now.places.length - 1));
    show();
  }
}

const nearest = (system, x) => now.lines[system].signs.reduce((best, s) => (!best || Math.abs(s.x - x) < Math.abs(best.x - x) ? s : best), null)?.number ?? null;
const at = () => ({ system: hand.system, number: hand.sign });
const change = (what) => ({ do: "change", at: at(), change: what });
const besides = (name, [side, number] = hand.mark) => ({ do: "beside", system: hand.system, line: side, number, name });

const textEdit = (what) => ({ do: "text", at: { system: hand.system, ...hand.text }, ...what });

function chosen(one) {
  if ("text" in one) return edit([textEdit(one.text)], true);
  if ("mark" in one) return edit([besides(one.mark, one.of)], true);
  return edit([change(one.change)], true);
}

function right() {
  const about = question();
  if (text()) {
    // What was left out is right so without a word.
    if (!text().kind) return goTo(place);
    return edit([textEdit({ text: text().text, mark: text().mark })], true);
  }
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
  const position = /^n/.test(sign()?.main ?? "") && /^n/.test(main) ? sign().main : main;
  if (!(await gesture("/edits", { edits: [{ do: "add", system: hand.system, x, main: position, value: like }] }))) return;
  const added = line().signs.find(({ number }) => !known.has(number));
  if (added) hand = { system: hand.system, sign: added.number, mark: null, bar: added.bar, x: added.x };
  place = Math.min(place, Math.max(0, now.places.length - 1));
  show();
}

async function remove() {
  if (text()) return edit([textEdit({ text: null })], true);
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
  if ((hand.sign !== null && !sign()) || (hand.mark && !mark()) || (hand.text && !text())) {
    hand = { ...hand, mark: null, text: null, sign: nearest(hand.system, hand.x) };
    show();
  } else show();
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
  fermata: () => (isNote() ? edit([change({ flag: ["fermata", !sign().fermata] })], false) : null),
  asideAfter: () => aside(1),
  asideBefore: () => aside(-1),
  toText: () => {
    whole.dataset.adding = "true";
    find(".words-here .text").focus();
  },
  toSigns: () => find(".sign-here").focus(),
  put,
  keepText,
  noText: () => (text() ? edit([textEdit({ text: null })], true) : null),
  addText,
  remove,
  add: () => add("n4"),
  rest: () => add("rest"),
};

const KEYS = {
  PageUp: "before", PageDown: "after", ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down",
  "#": "sharp", b: "flat", n: "natural", 0: "none", w: "w", h: "h", q: "q", e: "e", s: "s", t: "t", ".": "dot",
  y: "tie", f: "fermata", j: "asideAfter", k: "asideBefore", x: "toText", d: "toSigns", Delete: "remove", Backspace: "remove", a: "add", r: "rest",
};

/** One key after the other: each acts on what the one before has left. */
let keys = Promise.resolve();
function then(does) {
  keys = keys.then(() => (now && hand ? does() : null)).catch((error) => say(error.message));
}

/** In the fields keys are letters; Enter keeps what is written, Escape goes back to the page. */
function inField(event) {
  if (event.key !== "Enter" && event.key !== "Escape") return;
  event.preventDefault();
  const signs = event.target.closest(".signs-here");
  held.focus();
  if (event.key === "Escape") delete whole.dataset.adding;
  if (event.key === "Enter") then(signs ? put : text() ? keepText : addText);
  else show();
}

held.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) {
    if ((event.ctrlKey || event.metaKey) && event.key === "z") {
      event.preventDefault();
      then(undo);
    }
    return;
  }
  if (event.target.closest("input, select")) {
    inField(event);
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

held.addEventListener("click", ({ target }) => {
  const does = target.closest("button")?.dataset.does;
  if (!does) return;
  if (does === "toText") {
    DOES.toText();
    return;
  }
  // The page goes on from what is kept.
  if (target.closest(".words-here, .signs-here")) held.focus();
  then(DOES[does]);
});

find(".paper-line").addEventListener("click", ({ target }) => {
  const touched = target.closest("[data-sign], [data-mark], [data-text]");
  if (!touched) return;
  if (touched.dataset.text) {
    const there = line().texts[Number(touched.dataset.text)];
    hand = { system: hand.system, sign: null, mark: null, text: { beyond: there.beyond, number: there.number }, bar: there.bar, x: there.box[0] };
    show();
    held.focus();
    return;
  }
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
