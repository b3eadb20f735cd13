// The next act: one, big. What to do, where, with what, the caution beside it; below it what was read, one tap each.

import { part, button } from "./parts.js";
import { check, numberPad, tiles } from "./pad.js";
import { label, told } from "./listed.js";
import { standOf, walkFor } from "./walk.js";
import { AGAIN, ELSE_ASKS, NO_WALK, PAD_EMPTY, WALK_DONE, stepOf } from "./words.js";

/** The walk of this page as it stands. */
export const standing = (page) => standOf(walkFor(page.walk, page.known.site), page.rows);

/** The sheet of the next act; `last` is the thing written last, to be taken back from here. */
export function nextSheet(page, { last, does }) {
  const walk = walkFor(page.walk, page.known.site);
  const { open, later, done, all } = standOf(walk, page.rows);
  const before = last ? lastOf(last, does) : null;
  if (!open.length) return { act: null, inside: [part("p", { className: "do" }, all ? WALK_DONE : walk.says || NO_WALK), before] };
  const [act, then] = open;
  const facts = [["Where", act.where], ["With", act.with], ["Tone on", act.tone], ["About", act.long]].filter(([, words]) => words);
  const inside = [
    part("p", { className: "step" }, stepOf(done + 1, all), later.includes(act.key) ? ` · ${AGAIN}` : ""),
    part("p", { className: "do" }, act.says),
    ...act.cautions.map((words) => part("p", { className: "caution" }, part("b", {}, "Caution: "), words)),
    act.pad ? part("p", { className: "quiet line" }, facts.map(([, words]) => words).join(" · ")) : part("dl", { className: "facts" }, facts.map(factOf)),
    formOfAct(act, does),
    then ? part("p", { className: "then" }, part("small", {}, "Then"), ` ${then.says}`) : null,
    before,
  ];
  return { act, inside: inside.filter(Boolean) };
}

const factOf = ([name, words]) => part("div", {}, part("dt", {}, name), part("dd", {}, words));

function formOfAct(act, does) {
  const cares = act.checks.length ? part("div", { className: "cares" }, act.checks.map(check)) : null;
  const fields = [act.tiles ? tiles(act.tiles) : null, act.pad ? numberPad(act.pad) : null, cares].filter(Boolean);
  if (!fields.length) return null;
  const submit = (asked) => (asked.preventDefault(), does.answered(act));
  return part("form", { id: "act", autocomplete: "off", noValidate: true, onsubmit: submit }, fields);
}

const lastOf = (item, does) =>
  part("p", { className: "before" }, part("span", {}, part("small", {}, "Before"), ` ${label(item)} ${told(item)}`), button("Take it back", () => does.back(item)));

/** The buttons below an act. */
export function nextButtons(act, does) {
  const aside = [button("Did something else", () => does.instead(), { className: "act plain" })];
  if (!act) return aside;
  const given = act.answers.map((one) => button(one.label, () => does.answered(act, one), { className: act.answers.length === 1 && !asks(act) ? "act go wide" : "act heard" }));
  if (asks(act)) given.push(part("button", { type: "submit", className: given.length === 1 ? "act go" : "act go wide", form: "act" }, "Keep"));
  return [...given, ...aside, button("Skip", () => does.skip(act), { className: "act plain" })];
}

const asks = (act) => Boolean(act.pad || act.tiles);

const valuesOf = (form, name) => (form ? new FormData(form).getAll(name).map(String) : []);

/**
 * The fields of the jotting that answers an act: those of a button, or what stands in its form. Gives the sentence to say
 * instead where nothing was read yet.
 */
export function fieldsOf(act, one, form) {
  const care = valuesOf(form, "care").join(" ");
  const told = act.tiles && !one ? tiled(act.tiles, valuesOf(form, "tile")) : act.pad && !one ? typed(valuesOf(form, "value")[0], valuesOf(form, "unit")[0]) : "";
  if (!one && !told) return { says: PAD_EMPTY };
  if (!one) return { fields: { ...(act.pad ?? act.tiles).fields, value: told } };
  return { fields: care && one.care ? { ...one.fields, value: `${one.fields.value} ${care}` } : one.fields };
}

const tiled = ({ of, span }, chosen) => (chosen.length ? `${chosen.join(" ")} of ${span ?? `${of[0]}-${of.at(-1)}`}` : "");
const typed = (value, unit) => (/^\d*\.?\d+\.?$/.test(value?.trim() ?? "") ? `${value.trim().replace(/\.$/, "")} ${unit}` : "");

/** What is asked when something else was done. */
export const insteadSheet = () => [part("p", { className: "do" }, ELSE_ASKS)];
