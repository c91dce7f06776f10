// Other devices: a code for a new one, and shutting one out.
import { ask, elements, say } from "./house.js";

const form = document.getElementById("let-in");
const place = document.getElementById("code");

form?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const whose = form.elements.whose.value;
  try {
    const answer = await ask("/devices/offer", { player: whose ? Number(whose) : null });
    place.replaceChildren(elements(await answer.text()));
  } catch (mistake) {
    place.textContent = mistake.message;
  }
});

for (const button of document.querySelectorAll("[data-shut-out]")) {
  button.addEventListener("click", async () => {
    try {
      await ask(`/devices/${button.dataset.shutOut}/out`);
      button.replaceWith("shut out");
      say("The device is shut out.");
    } catch (mistake) {
      say(mistake.message);
    }
  });
}
