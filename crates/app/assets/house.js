// What every screen does: the room's light, and asking the app for something.

const rooms = { light: "Dark room", dark: "Light room" };
const asked = matchMedia("(prefers-color-scheme: dark)");
const button = document.querySelector("button.room");

function room() {
  return localStorage.getItem("room") ?? (asked.matches ? "dark" : "light");
}

function lit() {
  const now = room();
  document.documentElement.dataset.room = now;
  if (button) {
    button.textContent = rooms[now];
    button.removeAttribute("aria-pressed");
  }
}

button?.addEventListener("click", () => {
  localStorage.setItem("room", room() === "dark" ? "light" : "dark");
  lit();
});
asked.addEventListener("change", lit);
lit();

/** Says something to those who listen instead of look. */
export function say(words) {
  const place = document.getElementById("said");
  if (place) place.textContent = words;
}

const secret = document.querySelector('meta[name="foreread-secret"]')?.content ?? "";

/** Asks the app to do something; an answer that is a mistake becomes an error in its words. */
export async function ask(address, what, method = "POST") {
  const answer = await fetch(address, {
    method,
    headers: { "x-foreread-secret": secret, "content-type": "application/json" },
    body: what === undefined ? undefined : JSON.stringify(what),
  });
  if (!answer.ok) throw new Error(await wordsOf(answer));
  return answer;
}

/** Sends a file as it is. */
export async function send(address, file) {
  const answer = await fetch(address, {
    method: "POST",
    headers: { "x-foreread-secret": secret, "content-type": "application/octet-stream" },
    body: file,
  });
  if (!answer.ok) throw new Error(await wordsOf(answer));
  return answer;
}

/** Fetches a piece of a page. */
export async function piece(address) {
  const answer = await fetch(address);
  if (!answer.ok) throw new Error(await wordsOf(answer));
  return elements(await answer.text());
}

/** Our own pieces of pages; no script in them is ever run. */
export function elements(text) {
  const parsed = new DOMParser().parseFromString(text, "text/html");
  const fragment = document.createDocumentFragment();
  fragment.append(...[...parsed.body.childNodes].map((node) => document.adoptNode(node)));
  return fragment;
}

async function wordsOf(answer) {
  const text = await answer.text();
  const slip = new DOMParser().parseFromString(text, "text/html").querySelector(".slip");
  if (!slip) return text || "The app does not answer; start it again.";
  return [...slip.querySelectorAll("p")].slice(0, -1).map((p) => p.textContent).join(" ");
}
