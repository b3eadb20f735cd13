// Before a floor is there: which one, in which building. Its two rows are one act like any other.
import { newKey, send } from "./send.js";
import { sameTag } from "./draw_plan.js";
import { row } from "./draw_rows.js";

const $ = (id) => document.getElementById(id);

/** Rows for a floor, and for its building where it is new. */
export function floorRows(said, known) {
  const wanted = said.building.trim();
  const there = known.buildings.find((b) => sameTag(b.tag, wanted) || (b.name && b.name.toLowerCase() === wanted.toLowerCase()));
  const building = there ? there.tag : known.next.building;
  const how = { grade: "seen", method: "drawn on the laptop" };
  const floor = row("floors", { floor: known.next.floor, building, level: said.level.trim(), name: said.floor.trim(), ceiling_m: said.ceiling.trim(), z_m: said.height.trim(), ...how }, true);
  return there ? [floor] : [row("buildings", { building, name: wanted, ...how }, true), floor];
}

/** Let a person choose a floor or make one; `open` is called with its tag, and with a picture if one was chosen. */
export function begin(known, open) {
  $("begin").hidden = false;
  const form = $("begin-form"), fields = form.elements;
  fillFloors(known);
  fields.building.value = known.buildings[0]?.name || known.buildings[0]?.tag || "House";
  fields.floor.value = known.floors.length ? "" : "Ground floor";
  fields.level.value = known.floors.length ? "" : "0";
  const make = async (picture) => {
    if (!form.reportValidity()) return;
    const said = Object.fromEntries(["building", "floor", "level", "ceiling", "height"].map((name) => [name, fields[name].value]));
    const rows = floorRows(said, known);
    const answer = await send("/api/rows", { key: newKey(), rows });
    if (!answer.ok) $("begin-says").textContent = answer.faults.join(" ");
    else open(rows.at(-1).cells.floor, { rows, entries: answer.entries, picture });
  };
  form.addEventListener("submit", (asked) => {
    asked.preventDefault();
    make(null);
  });
  $("begin-picture").addEventListener("click", () => choosePicture(make));
}

function choosePicture(make) {
  const file = $("file").cloneNode();
  file.id = "begin-file";
  file.addEventListener("change", () => file.files[0] && make(file.files[0]));
  file.click();
}

function fillFloors(known) {
  $("floors").replaceChildren(...known.floors.map((f) => {
    const item = document.createElement("li"), link = document.createElement("a");
    link.href = `/draw?floor=${encodeURIComponent(f.tag)}`;
    link.className = "button";
    link.textContent = `${f.tag} ${f.name}`;
    item.append(link);
    return item;
  }));
  $("buildings").replaceChildren(...known.buildings.map((b) => Object.assign(document.createElement("option"), { value: b.name || b.tag })));
}
