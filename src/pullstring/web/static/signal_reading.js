// A level that was read, as one row of the record. The page is then loaded again and shows what it changes.
import { newKey, send } from "./send.js";

const form = document.getElementById("reading");
const out = form?.querySelector("output");

/** How it was read, in the words of a reading: heard from, where, turning. */
function conditions(said) {
  const at = [said("at_x"), said("at_y")].map((text) => text.replace(",", "."));
  const from = said("from");
  return [
    from.startsWith("stranger") ? from : from && `heard from ${from}`,
    at.every(Boolean) && `at ${at.join(" ")}`,
    said("doors") && `doors ${said("doors")}`,
  ].filter(Boolean).join("; ");
}

/** The cells of its row. */
function cells() {
  const data = new FormData(form);
  const said = (name) => String(data.get(name) ?? "").trim();
  const level = said("level").replace("\u2212", "-").replace(",", ".").replace(/\s*dBm$/i, "");
  const made = {
    subject: `room:${said("room")}`,
    quantity: `level ${said("band")}`,
    value: data.get("none") ? "none" : level && `${level} dBm`,
    conditions: conditions(said),
    instrument: said("device"),
    grade: "metered",
    by: form.dataset.author,
    at: form.dataset.today,
  };
  return Object.fromEntries(Object.entries(made).filter(([, value]) => value));
}

/** What is wrong with it, before it is sent; empty if nothing is. */
function amiss(made) {
  if (!made.value) return form.dataset.noLevel;
  const level = made.value === "none" ? -1 : Number(made.value.replace(" dBm", ""));
  if (!(level < 0 && level > -130)) return form.dataset.notLevel;
  const half = [form.elements.at_x, form.elements.at_y].filter((field) => field.value.trim());
  return half.length === 1 ? form.dataset.halfPlace : "";
}

let key = newKey();

form?.addEventListener("input", () => {
  key = newKey(); // what was changed is another act
  form.elements.level.disabled = form.elements.none.checked;
});

form?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const made = cells();
  const wrong = amiss(made);
  out.textContent = wrong || form.dataset.wait;
  if (wrong) return;
  const button = form.querySelector("button");
  button.disabled = true;
  const said = await send("/api/rows", { key, author: form.dataset.author, rows: [{ table: "measurements", cells: made, new: false }] });
  if (said.ok) {
    location.hash = "readings";
    location.reload();
  } else {
    out.textContent = said.faults.join(" ");
    button.disabled = false;
  }
});
