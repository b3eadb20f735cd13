// What is read off an instrument, with large keys: a number with its unit, or the numbers that were heard.

import { button, part } from "./parts.js";

const KEYS = ["1", "2", "3", "back", "4", "5", "6", ".", "7", "8", "9", "0"];

/** A number by keys; a keyboard types into it too. */
export function numberPad({ label, units }) {
  const input = part("input", {
    id: "field-value", name: "value", type: "text", inputMode: "none", maxLength: 12, autocomplete: "off", enterKeyHint: "done", className: "n",
  }); // prettier-ignore
  const unit = (word, i) =>
    part("label", { className: "choice" }, part("input", { type: "radio", name: "unit", value: word, checked: i === 0 }), part("span", {}, word));
  const type = (key) => {
    if (key === "back") input.value = input.value.slice(0, -1);
    else if (key !== "." || !input.value.includes(".")) input.value += key;
  };
  return part(
    "div",
    { className: "field" },
    part("label", { htmlFor: "field-value" }, label),
    input,
    part("div", { className: "units", role: "group", "aria-label": "Unit" }, units.map(unit)),
    part(
      "div",
      { className: "keys", role: "group", "aria-label": "Keys" },
      KEYS.map((key) => button(key, () => type(key), { className: key === "back" ? "" : "n", "aria-label": key === "back" ? "take the last digit away" : null })),
    ),
  );
}

/** Numbers to choose several of. */
export function tiles({ label, of }) {
  const tile = (word) =>
    part("label", { className: "choice" }, part("input", { type: "checkbox", name: "tile", value: word }), part("span", { className: "n" }, word));
  return part("fieldset", { className: "field" }, part("legend", {}, label), part("div", { className: "tiles" }, of.map(tile)));
}

/** A care that was taken, to be ticked. */
export const check = ({ word, label }) =>
  part("label", { className: "choice care" }, part("input", { type: "checkbox", name: "care", value: word }), part("span", {}, label));
