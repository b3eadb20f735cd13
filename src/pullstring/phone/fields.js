// The fields of an act. Each gives its element; what was typed is read from the form by name.

import { USUAL, unitsOf } from "./acts.js";
import { button, part } from "./parts.js";

const LONGEST_TAG = 80; // letters
const LONGEST_WORDS = 4000;
const UNDER = 6; // ours: quantities shown before the others are asked for

/** A line to type a tag into, with buttons for the likely ones. */
export function tagField(name, word, value, { picks = [], known = [] } = {}) {
  const id = `field-${name}`;
  const input = part("input", {
    id, name, value, type: "text", maxLength: LONGEST_TAG, autocomplete: "off", autocapitalize: "characters", spellcheck: false,
    enterKeyHint: "done", list: known.length ? `${id}-known` : null, className: "n",
  }); // prettier-ignore
  const pick = (tag) => {
    input.value = tag;
    input.dispatchEvent(new Event("input", { bubbles: true }));
  };
  return part(
    "div",
    { className: "field" },
    part("label", { htmlFor: id }, word),
    picks.length ? part("div", { className: "picks", role: "group", "aria-label": `${word}: here` }, picks.map((tag) => button([tag, part("small")], () => pick(tag), { className: "n pick", "data-tag": tag }))) : null,
    input,
    known.length ? part("datalist", { id: `${id}-known` }, known.map((tag) => part("option", { value: tag }))) : null,
  );
}

/** Words of any length. */
export const wordsField = (word, value, rows) =>
  part(
    "div",
    { className: "field" },
    part("label", { htmlFor: "field-words" }, word),
    part("textarea", { id: "field-words", name: "words", value, rows, maxLength: LONGEST_WORDS }),
  );

function choice(name, value, checked) {
  const input = part("input", { type: "radio", name, value, checked });
  return part("label", { className: "choice" }, input, part("span", {}, value));
}

/** What the meter is set to: the usual ones as buttons, the others on request. */
export function quantityField(quantities, value) {
  const all = [...new Set([...USUAL, ...quantities])];
  const first = all.slice(0, UNDER);
  if (value && !first.includes(value)) first.push(value);
  const rest = all.filter((one) => !first.includes(one));
  const choices = (some) => part("div", { className: "choices" }, some.map((one) => choice("quantity", one, one === value)));
  return part(
    "fieldset",
    { className: "field" },
    part("legend", {}, "The meter is set to"),
    choices(first),
    rest.length ? part("details", { className: "rest" }, part("summary", {}, "Other quantities"), choices(rest)) : null,
  );
}

/** A number as it is read, its unit beside it; signs that a number pad has not got stand as buttons. */
export function valueField(value, quantity, unit) {
  const input = part("input", {
    id: "field-value", name: "value", value, type: "text", inputMode: "decimal", maxLength: LONGEST_TAG, autocomplete: "off",
    enterKeyHint: "done",
  }); // prettier-ignore
  const whole = (word) => {
    input.value = word;
    input.dispatchEvent(new Event("input", { bubbles: true }));
  };
  const front = (sign) => {
    const bare = input.value.replace(/^([-<>]\s*|none$)/, "");
    input.value = input.value.startsWith(sign) ? bare : `${sign}${bare}`;
    input.dispatchEvent(new Event("input", { bubbles: true }));
    input.focus();
  };
  const units = part("select", { name: "unit", "aria-label": "Unit" });
  setUnits(units, quantity, unit);
  return part(
    "div",
    { className: "field" },
    part("label", { htmlFor: "field-value" }, "It shows"),
    part(
      "div",
      { className: "signs", role: "group", "aria-label": "Before the number" },
      button("minus", () => front("-")),
      button("less than", () => front("<")),
      button("more than", () => front(">")),
      button("none", () => whole("none")),
    ),
    part("div", { className: "value" }, input, units),
  );
}

/** The units of a quantity; none where it has none. */
export function setUnits(select, quantity, unit = "") {
  const units = unitsOf(quantity);
  select.replaceChildren(...units.map((one) => part("option", { value: one, selected: one === unit }, one)));
  select.hidden = !units.length;
}
