// Changes of what is picked, as rows: another name, kind or width; and taking it away.
import { metres } from "./draw_lengths.js";
import { fresh, sameTag } from "./draw_plan.js";
import { ONE, sizedRows, thingOf } from "./draw_pick.js";
import { row } from "./draw_rows.js";
import { chosen, forAct, used } from "./draw_types.js";

/** Rows for what the fields say, or null when they say what is so already; a sentence when they cannot be. */
export function changeRows(app, { name, kind, width }) {
  const { list, tag } = app.picked, thing = thingOf(app.shapes, app.picked);
  const cells = { [ONE[list]]: tag, ...app.how() };
  if (["outlets", "positions"].includes(list) && name !== (thing.label || "")) cells.label = name || "none";
  if (["rooms", "units"].includes(list) && name !== (thing.name || "")) cells.name = name || "none";
  if (list === "openings" && kind !== thing.fill) cells.fill = kind;
  if (list === "positions" && kind && kind !== thing.mount) cells.mount = kind;
  if (list === "blocks" && kind && kind !== thing.style) cells.style = kind;
  const rows = Object.keys(cells).some((c) => !["grade", "method", ONE[list]].includes(c)) ? [row(list, cells)] : [];
  if (list === "walls") rows.push(...typedRows(app, thing, kind));
  if (list === "openings") {
    const wide = metres(width);
    if (!wide) return `${width} is no width; write it like 0.8 or 80 cm.`;
    if (Math.abs(wide - (thing.u1_m - thing.u0_m)) > 0.004) rows.push(...(sizedRows(app, thing, (thing.u0_m + thing.u1_m) / 2, wide) || []));
  }
  return rows.length ? rows : null;
}

/** Rows that give a wall another type. */
export function typedRows(app, wall, id) {
  const { type } = chosen(app.shapes, id);
  if (type.tag && sameTag(type.tag, wall.wall_type || "")) return [];
  const types = forAct(app.shapes, { outer: id, inner: id }, fresh(app.shapes), app.how());
  const rows = [row("walls", { wall: wall.tag, wall_type: types.outer.tag, ...app.how() })];
  return [...used(types.rows, rows), ...rows];
}
