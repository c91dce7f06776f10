// The studio: whatever is filled in is sent, and the answer says where to go; mistakes stand beside the button, nothing typed is lost.

import { ask, say } from "./house.js";

/** The fields of a form by their names: ticks are true or false, several of a list are a list. */
function filled(form) {
  const what = {};
  for (const field of form.elements) {
    if (!field.name) continue;
    if (field.type === "checkbox" && "many" in field.dataset) {
      what[field.name] ??= [];
      if (field.checked) what[field.name].push(field.value);
    } else if (field.type === "checkbox") what[field.name] = field.checked;
    else if ("yes" in field.dataset) what[field.name] = field.value === "true";
    else what[field.name] = field.value;
  }
  return what;
}

document.addEventListener("submit", async (event) => {
  const form = event.target.closest("form[data-to]");
  if (!form) return;
  event.preventDefault();
  if (form.dataset.ask && !confirm(form.dataset.ask)) return;
  const said = form.querySelector(".slip-said");
  const button = form.querySelector("button[type=submit]");
  button.disabled = true;
  said.textContent = "";
  try {
    const { go } = await (await ask(form.dataset.to, filled(form))).json();
    changed.delete(form);
    const here = location.pathname + location.search;
    if (!go || go.split("#")[0] === here) location.reload();
    else location.assign(go);
  } catch (error) {
    said.textContent = ` ${error.message}`;
    button.disabled = false;
    say(error.message);
  }
});

// What was typed and not sent is asked about before it is left.
const changed = new Set();
document.addEventListener("input", (event) => {
  const form = event.target.closest("form.filled");
  if (form) changed.add(form);
});
addEventListener("beforeunload", (event) => {
  if (changed.size) event.preventDefault();
});
