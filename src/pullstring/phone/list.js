// The last entries with their state in words; each opens for what can be done with it.

import { ACTS } from "./acts.js";
import { beside, items, label, refused, stateOf, told } from "./listed.js";
import { button, mono, part } from "./parts.js";
import { NOTHING_YET } from "./words.js";

const SHOWN = 30; // ours: things in the list; older ones are in the record

const openOnes = new Set();

/**
 * The list. `does` holds what can be done with one: more, back, anew, letBe; each takes the item. `today` is the day as it is
 * written, `nameOf` the name of a room.
 */
export function listOf(rows, { does, today, nameOf }) {
  const all = items(rows).slice(0, SHOWN);
  if (!all.length) return part("p", { className: "quiet" }, NOTHING_YET);
  return part("ul", { className: "list" }, all.map((item) => part("li", {}, lineOf(item, does, beside(item, today, nameOf)))));
}

function lineOf(item, does, when) {
  const state = stateOf(item);
  const act = ACTS[item.fields.what === "photo" ? "note" : item.fields.what]?.word ?? "";
  const summary = part(
    "summary",
    {},
    part("span", { className: "what" }, mono(label(item)), ` ${act}`),
    part("span", { className: "words" }, told(item)),
    part("span", { className: "state" }, part("span", { className: `shape ${state.shape}`, "aria-hidden": "true" }), state.words),
    part("span", { className: "when" }, when),
  );
  const made = part("details", { open: openOnes.has(item.id), "data-id": item.id }, summary);
  made.addEventListener("toggle", () => {
    if (made.open) openOnes.add(item.id);
    else openOnes.delete(item.id);
    if (made.open && made.childElementCount === 1) made.append(doingsOf(item, does));
  });
  if (made.open) made.append(doingsOf(item, does));
  return made;
}

function doingsOf(item, does) {
  const no = refused(item);
  if (no.length) {
    const whole = no.includes(item.row); // of a refused photograph alone the words are in the record already
    return part(
      "div",
      { className: "does" },
      whole ? button("Write it anew", () => does.anew(item)) : button("Say more", () => does.more(item)),
      button("Let it be", () => does.letBe(item)),
    );
  }
  const back = item.strikes.length || item.row.state === "left";
  return part(
    "div",
    { className: "does" },
    button("Say more", () => does.more(item)),
    back ? null : button("Take it back", () => does.back(item)),
  );
}
