// Accepting what is proposed, and entering what phones answered: each click is one act under one key, so it is written once.
import { newKey, send } from "./send.js";

/** Send once; while it goes and after it went the buttons rest. */
async function once(part, buttons, address, body, done) {
  const out = part.querySelector("output");
  for (const button of buttons) button.disabled = true;
  const said = await send(address, { key: newKey(), ...body });
  out.textContent = said.ok ? done(said) : said.faults.join(" ");
  if (!said.ok) for (const button of buttons) button.disabled = false;
  return said.ok;
}

for (const section of document.querySelectorAll("section.proposed")) {
  const author = section.dataset.author;
  section.addEventListener("click", (event) => {
    const { act, outlet } = event.target.dataset;
    const words = (said) => (said.already ? "In the record already." : "In the record.");
    if (act === "accept") once(event.target.closest("td"), [event.target], "/api/trace/accept", { author, outlets: [outlet] }, words);
    if (act === "accept-all") {
      const open = [...section.querySelectorAll("[data-act=accept]:not(:disabled)")];
      const outlets = open.map((button) => button.dataset.outlet);
      const many = (said) => `${said.accepted} in the record. Load the page again to see how it stands now.`;
      once(event.target.closest("p"), [event.target, ...open], "/api/trace/accept", { author, outlets }, many);
    }
  });
}

for (const section of document.querySelectorAll("section.walked")) {
  section.addEventListener("click", async (event) => {
    if (event.target.dataset.act !== "enter") return;
    const rows = JSON.parse(section.dataset.rows);
    const ok = await once(section, [event.target], "/api/rows", { author: section.dataset.author, rows }, () => "In the record.");
    if (ok) location.reload();
  });
}
