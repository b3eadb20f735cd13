// Taking the right to write from a phone.
import { send } from "./send.js";

for (const button of document.querySelectorAll("[data-unpair]")) {
  button.addEventListener("click", async () => {
    button.disabled = true;
    const said = await send("/api/unpair", { device: button.dataset.unpair });
    button.textContent = said.ok ? "It writes no more" : said.faults.join(" ");
  });
}
