// The folder: openings come when they are seen; files are dropped in; a purpose is written in place.

import { ask, piece, say, send } from "./house.js";

// How each piece begins.
const near = new IntersectionObserver((seen) => {
  for (const { target, isIntersecting } of seen) {
    if (!isIntersecting) continue;
    near.unobserve(target);
    piece(target.dataset.from).then((svg) => target.replaceChildren(svg), (error) => { target.textContent = error.message; });
  }
}, { rootMargin: "60%" });
document.querySelectorAll(".opening").forEach((opening) => near.observe(opening));

// Files.
const PAGES = /\.(pdf|png|jpe?g|tiff?)$/i;
const drop = document.querySelector(".drop");
const came = drop?.querySelector(".came");

async function take(files) {
  for (const file of files) {
    const line = document.createElement("li");
    line.textContent = PAGES.test(file.name) ? `${file.name}: its pages are being looked at; each takes some seconds …` : `${file.name} …`;
    came.append(line);
    const answer = await bring(file, line);
    if (answer?.tunes.length) offer(file, line, answer.tunes);
  }
  await again();
}

/** Brings a file in, or of a book the tunes that are named; says what came of it. */
async function bring(file, line, tunes) {
  try {
    const names = tunes ? `&tunes=${encodeURIComponent(tunes)}` : "";
    const done = await (await send(`/folder/files?name=${encodeURIComponent(file.name)}${names}`, file)).json();
    if (done.pieces.length) line.replaceChildren(...told(done.pieces, line));
    return done;
  } catch (error) {
    // What is said of a file begins with its name often enough.
    const named = error.message.toLowerCase().startsWith(file.name.toLowerCase());
    const said = named ? error.message.slice(file.name.length).replace(/^[:,]\s*/, "") : error.message;
    line.textContent = `${file.name}: ${said}`;
    line.className = "slip-said";
    return null;
  }
}

function told(pieces, line) {
  const one = ({ id, title, said, paper }) => {
    const link = document.createElement(id ? "a" : "span");
    if (id) link.href = `/part/${id}`;
    link.textContent = title;
    const parts = [link, said ? `: ${said}` : " is in the folder."];
    if (paper) {
      const way = document.createElement("a");
      way.href = `/paper/${id}`;
      way.textContent = "Hold it against the page";
      parts.push(" ", way);
    }
    return parts;
  };
  if (pieces.length === 1) {
    line.dataset.piece = pieces[0].id;
    return one(pieces[0]);
  }
  const list = document.createElement("ul");
  for (const piece of pieces) {
    const entry = document.createElement("li");
    entry.append(...one(piece));
    list.append(entry);
  }
  const word = `${pieces.filter(({ id }) => id).length} tunes are in the folder.`;
  say(word);
  return [word, list];
}

/** So many tunes of a book are listed at once, and so many taken. */
const LISTED = 200;
const AT_ONCE = 500;

/** A book: its tunes to tick, and of a long one those to be found by their words. */
function offer(file, line, tunes) {
  const form = document.createElement("form");
  form.className = "book";
  const legend = document.createElement("p");
  legend.textContent = `${file.name} is a book of ${tunes.length} tunes. Which do you want?`;
  const list = document.createElement("ul");
  const more = document.createElement("p");
  more.className = "facts more";
  more.setAttribute("role", "status");
  const ticked = new Set();
  const some = button("", "submit");
  const all = button(`Take all ${tunes.length}`, "button", "take-all");
  const none = button("Take none", "button", "take-none");
  const count = () => {
    some.disabled = !ticked.size || ticked.size > AT_ONCE;
    some.textContent = ticked.size ? `Take the ${ticked.size} ticked` : "Take those ticked";
  };
  const show = (words) => {
    const wanted = words.toLowerCase().split(/\s+/).filter(Boolean);
    const found = tunes.filter(({ name, title, facts }) => {
      const told = `${name} ${title} ${facts}`.toLowerCase();
      return wanted.every((word) => told.includes(word));
    });
    list.replaceChildren(...found.slice(0, LISTED).map((tune) => entry(tune, ticked)));
    more.textContent = found.length > LISTED ? `${LISTED} of ${found.length} tunes are listed: find yours by a word of its title, its key or its metre.`
      : wanted.length ? `${found.length} of ${tunes.length} tunes.` : "";
    more.hidden = !more.textContent;
  };
  const parts = [legend];
  if (tunes.length > 30) {
    const label = document.createElement("label");
    const find = document.createElement("input");
    find.type = "search";
    find.name = "find";
    find.addEventListener("input", () => show(find.value));
    label.append("Find in the book ", find);
    parts.push(label);
  }
  list.addEventListener("change", ({ target }) => {
    if (target.checked) ticked.add(target.value);
    else ticked.delete(target.value);
    count();
  });
  const taken = async (names) => {
    await bring(file, line, names);
    await again();
  };
  form.addEventListener("submit", (event) => { event.preventDefault(); if (ticked.size) taken([...ticked].join("\n")); });
  all.addEventListener("click", () => taken("all"));
  none.addEventListener("click", () => line.remove());
  parts.push(list, more, some, " ");
  if (tunes.length <= AT_ONCE) parts.push(all, " ");
  form.append(...parts, none);
  show("");
  count();
  line.replaceChildren(form);
  form.querySelector("input").focus();
}

function button(words, type, name = "") {
  const made = document.createElement("button");
  made.type = type;
  made.className = name;
  made.textContent = words;
  return made;
}

function entry({ name, title, facts }, ticked) {
  const made = document.createElement("li");
  const label = document.createElement("label");
  const tick = document.createElement("input");
  tick.type = "checkbox";
  tick.name = "tune";
  tick.value = name;
  tick.checked = ticked.has(name);
  const about = document.createElement("span");
  about.className = "facts";
  about.textContent = facts;
  label.append(tick, ` ${title} `, about);
  made.append(label);
  return made;
}

/** The list as it is now, without losing what was said of the files. */
async function again() {
  const now = new DOMParser().parseFromString(await (await fetch(location.href)).text(), "text/html");
  document.querySelector(".pieces").replaceWith(document.adoptNode(now.querySelector(".pieces")));
  document.querySelector(".house .facts").textContent = now.querySelector(".house .facts").textContent;
  document.querySelectorAll(".pieces .opening").forEach((opening) => near.observe(opening));
}

if (drop) {
  document.getElementById("files").addEventListener("change", (event) => take([...event.target.files]));
  const over = (on) => drop.classList.toggle("over", on);
  document.addEventListener("dragover", (event) => { event.preventDefault(); over(true); });
  document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) over(false); });
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    over(false);
    take([...event.dataTransfer.files]);
  });
}

// Wishes by touch.
document.querySelector(".phrases")?.addEventListener("click", (event) => {
  const phrase = event.target.closest(".phrase");
  if (!phrase) return;
  const field = document.getElementById("wish");
  field.value = [field.value.trim().replace(/,$/, ""), phrase.textContent].filter(Boolean).join(", ");
  field.focus();
});

document.addEventListener("click", async (event) => {
  const card = event.target.closest(".piece");
  if (!card) return;
  if (event.target.matches(".write")) write(card);
  if (event.target.matches(".away")) {
    const away = !new URLSearchParams(location.search).has("away");
    await ask(`/piece/${card.dataset.piece}/away`, { away });
    const title = card.querySelector(".piece-title").textContent;
    say(away ? `${title} is put away.` : `${title} is in the folder again.`);
    card.remove();
  }
});

/** Her words for what a piece is for, written where they stand. */
function write(card) {
  const place = card.querySelector(".purpose");
  const said = place.querySelector(".purpose-said");
  const field = document.createElement("textarea");
  field.value = said.textContent;
  field.setAttribute("aria-label", "What it is for");
  const keep = document.createElement("button");
  keep.type = "button";
  keep.className = "keep";
  keep.textContent = "Keep";
  const was = [...place.childNodes];
  const back = () => place.replaceChildren(...was);
  keep.addEventListener("click", async () => {
    try {
      said.textContent = await (await ask(`/piece/${card.dataset.piece}/purpose`, { words: field.value })).json();
      back();
      place.querySelector(".write").textContent = said.textContent ? "Change" : "Say what it is for";
      place.querySelector(".write").focus();
    } catch (error) {
      say(error.message);
      keep.textContent = `Keep (${error.message})`;
    }
  });
  field.addEventListener("keydown", (event) => { if (event.key === "Escape") back(); });
  place.replaceChildren(field, keep);
  field.focus();
}

// A corrected file of a piece.
document.addEventListener("change", async (event) => {
  if (!event.target.matches(".corrected")) return;
  const card = event.target.closest(".piece");
  const [file] = event.target.files;
  const line = document.createElement("li");
  came.append(line);
  line.scrollIntoView({ block: "nearest" });
  try {
    const done = await (await send(`/piece/${card.dataset.piece}/file?name=${encodeURIComponent(file.name)}`, file)).json();
    line.textContent = `${done.title}: ${done.said}`;
  } catch (error) {
    line.textContent = `${file.name}: ${error.message}`;
    line.className = "slip-said";
  }
  await again();
});

// Side by side.
const form = document.getElementById("beside");
document.addEventListener("change", (event) => {
  if (event.target.name !== "piece" || !form) return;
  const ticked = document.querySelectorAll('input[name="piece"]:checked').length;
  form.querySelector(".compare").disabled = ticked < 2;
});
