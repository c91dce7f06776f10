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
const drop = document.querySelector(".drop");
const came = drop?.querySelector(".came");

async function take(files) {
  for (const file of files) {
    const line = document.createElement("li");
    line.textContent = `${file.name} …`;
    came.append(line);
    try {
      const added = await (await send(`/folder/files?name=${encodeURIComponent(file.name)}`, file)).json();
      const link = document.createElement("a");
      link.href = `/part/${added.id}`;
      link.textContent = added.title;
      line.replaceChildren(link, added.said ? `: ${added.said}` : " is in the folder.");
      line.dataset.piece = added.id;
    } catch (error) {
      line.textContent = `${file.name}: ${error.message}`;
      line.className = "slip-said";
    }
  }
  await again();
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
