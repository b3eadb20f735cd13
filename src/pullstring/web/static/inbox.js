// Sorting jottings: the rows as they stand on the page enter the record as one act, under one key for each jotting.
import { newKey, send } from "./send.js";

function rowsOf(section) {
  const rows = [];
  for (const part of section.querySelectorAll("fieldset.row")) {
    if (!part.querySelector("legend input").checked) continue;
    const cells = {};
    for (const input of part.querySelectorAll("input[name]")) if (input.value.trim()) cells[input.name] = input.value.trim();
    rows.push({ table: part.dataset.table, cells, new: part.dataset.new === "yes" });
  }
  return rows;
}

async function enter(section, rows, done) {
  const out = section.querySelector("output");
  const buttons = section.querySelectorAll("button");
  for (const button of buttons) button.disabled = true;
  const key = newKey();
  const said = await send("/api/rows", { key, author: section.dataset.author, rows });
  if (said.ok) {
    section.classList.add("done");
    out.textContent = done;
  } else {
    out.textContent = said.faults.join(" ");
    for (const button of buttons) button.disabled = false;
  }
}

for (const section of document.querySelectorAll("section.jotting")) {
  section.addEventListener("click", (event) => {
    const act = event.target.dataset.act;
    if (act === "enter") enter(section, rowsOf(section), "In the record.");
    if (act === "aside") {
      const cells = { jotting: event.target.dataset.tag, sorted: "set aside", grade: "seen" };
      enter(section, [{ table: "jottings", cells }], "Set aside; it stays in the record.");
    }
  });
}
