// Rows of tables from what was drawn: every cell a text, metres with at most three decimals.
import { dist, mm, tidy } from "./draw_geometry.js";
import { sameTag } from "./draw_plan.js";

export const metre = (value) => (value === null || value === undefined ? "" : String(mm(value)));
const point = (p) => tidy(p).map(String).join(" ");
export const outlineText = (pieces) => pieces.map((piece) => piece.map(point).join("; ")).join(" | ");

/** A row; blank cells are left out, for blank means not said. */
export function row(table, cells, isNew = false) {
  const said = Object.fromEntries(Object.entries(cells).filter(([, text]) => text !== "" && text !== undefined && text !== null));
  return { table, cells: said, ...(isNew ? { new: true } : {}) };
}

const NEEDED = { walls: (w) => ({ line: w.line.map(point).join("; "), floors: w.floors.join(" ") }), openings: (o) => ({ wall: o.wall }) };

/** Rows with the cells that every row of their table needs, taken from what is drawn where they are not said. */
export function whole(shapes, rows) {
  return rows.map((r) => {
    const tag = r.cells[r.table.slice(0, -1)];
    const thing = NEEDED[r.table] && shapes[r.table].find((t) => sameTag(t.tag, tag));
    return thing ? { ...r, cells: { ...NEEDED[r.table](thing), ...r.cells } } : r;
  });
}

/** What a draft of walls and openings changed, as rows. */
export function wallRows(draft, how) {
  const rows = [];
  for (const wall of draft.walls) {
    const before = draft.shapes.walls.find((w) => sameTag(w.tag, wall.tag));
    if (!wall.made && before && sameLine(before, wall) && before.wall_type === wall.wall_type) continue;
    const cells = { wall: wall.tag, line: wall.line.map(point).join("; "), wall_type: wall.wall_type, ...how };
    rows.push(row("walls", wall.made ? { ...cells, floors: wall.floors.join(" ") } : cells, wall.made));
  }
  for (const opening of draft.openings) {
    const before = draft.shapes.openings.find((o) => sameTag(o.tag, opening.tag));
    if (before && before.wall === opening.wall && before.u0_m === opening.u0_m && before.u1_m === opening.u1_m) continue;
    rows.push(row("openings", { opening: opening.tag, wall: opening.wall, u0_m: metre(opening.u0_m), u1_m: metre(opening.u1_m), ...how }));
  }
  return rows;
}

const sameLine = (one, other) => one.line.every((p, i) => dist(p, other.line[i]) < 1e-6);
