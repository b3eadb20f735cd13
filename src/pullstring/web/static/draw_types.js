// Wall types to draw with: those of the record, and some to begin with whose thickness is common practice until measured.
import { named, sameTag } from "./draw_plan.js";
import { metre, row } from "./draw_rows.js";

const BEGIN = [
  { name: "brick, thick", hatch: "brick", thickness_m: 0.36 },
  { name: "brick, thin", hatch: "brick", thickness_m: 0.12 },
  { name: "rubble stone", hatch: "rubble", thickness_m: 0.55 },
  { name: "lath and plaster", hatch: "lath", thickness_m: 0.12 },
  { name: "metal lath", hatch: "metal lath", thickness_m: 0.12 },
  { name: "timber stud", hatch: "timber", thickness_m: 0.12 },
  { name: "board on studs", hatch: "board", thickness_m: 0.1 },
  { name: "not known", hatch: "none", thickness_m: 0.1 },
]; // ours, from memory of old houses

const thick = (type) => type.thickness_m || 0.1;

/** All types that can be chosen: an id, words, and the type itself; a type without a tag is made when it is first used. */
export function choices(shapes) {
  const own = shapes.wall_types.filter((t) => !BEGIN.some((b) => b.name === t.name));
  const begin = BEGIN.map((b) => shapes.wall_types.find((t) => t.name === b.name) || b);
  return [...own, ...begin].map((t) => ({ id: t.tag || `begin ${t.name}`, words: `${named(t)}, ${thick(t).toFixed(2)} m`, type: { ...t, thickness_m: thick(t) } }));
}

/** The choice of an id; a type to begin with is found again once the record has it. */
export function chosen(shapes, id) {
  const all = choices(shapes);
  const begun = id.startsWith("begin ") && shapes.wall_types.find((t) => t.name === id.slice(6));
  return all.find((c) => c.id === (begun ? begun.tag : id)) || all[0];
}

/** Outer and inner type as they can be used in an act, and rows for those that the record does not have yet. */
export function forAct(shapes, { outer, inner }, tag, how) {
  const made = {}, rows = [];
  for (const [name, id] of [["outer", outer], ["inner", inner]]) {
    const { type } = chosen(shapes, id);
    const same = type.tag ? null : rows.find((r) => r.cells.name === type.name);
    made[name] = type.tag ? type : { ...type, tag: same ? same.cells.wall_type : tag("wall_type") };
    if (!type.tag && !same) rows.push(typeRow(made[name], how));
  }
  return { ...made, rows };
}

function typeRow(type, how) {
  const cells = { wall_type: type.tag, name: named(type), hatch: type.hatch, thickness_m: metre(type.thickness_m), grade: "assumed", method: "common practice, not measured" };
  return row("wall_types", { ...how, ...cells }, true);
}

/** Those of the rows for types that other rows name. */
export const used = (typeRows, rows) =>
  typeRows.filter((t) => rows.some((r) => r.cells.wall_type && sameTag(r.cells.wall_type, t.cells.wall_type)));
