// What is drawn: the shapes of a floor as the record gave them, with the rows of later acts laid over them.
// Nothing here is ever changed in place, so an earlier stand is kept by keeping it.
import { far, inside, leftwards, sides } from "./draw_geometry.js";
import { metres } from "./draw_lengths.js";

const number = (text) => (text === "" ? null : Number(text));
const words = (text) => text.split(/[\s&]+/).filter(Boolean);
const corners = (text) => text.split(";").map((p) => p.trim().split(/\s+/).map(Number));
const pieces = (text) => (text === "none" || !text ? [] : text.split("|").map((piece) => boxed(corners(piece))));
const boxed = (c) => (c.length === 2 ? [c[0], [c[1][0], c[0][1]], c[1], [c[0][0], c[1][1]]] : c);

const PLACED = { x_m: number, y_m: number, z_m: number };
export const TABLES = {
  floors: { tag: "floor", list: "floors", cells: { level: number, z_m: number, ceiling_m: number } },
  rooms: { tag: "room", list: "rooms", cells: { outline: pieces, height_m: number }, names: { outline: "pieces" }, blank: { pieces: [], closet: "" } },
  wall_types: { tag: "wall_type", list: "wall_types", cells: { thickness_m: number } },
  walls: { tag: "wall", list: "walls", cells: { line: corners, floors: words, thickness_m: number } },
  openings: { tag: "opening", list: "openings", cells: { u0_m: number, u1_m: number, z0_m: number, z1_m: number } },
  outlets: { tag: "outlet", list: "outlets", cells: PLACED },
  positions: { tag: "position", list: "positions", cells: PLACED },
  units: { tag: "unit", list: "units", cells: PLACED },
  blocks: { tag: "block", list: "blocks", cells: PLACED },
  ends: { tag: "end", list: "ends", cells: {} },
  pathways: { tag: "pathway", list: "pathways", cells: { rooms: words } },
  photos: { tag: "photo", list: "photos", cells: {} },
  scans: { tag: "scan", list: "scans", cells: { scale_length_m: metres, cross_length_m: metres }, blank: { scale_points: "", cross_points: "", common_points: "" } },
};
const LATER = new Set(["grade", "method", "at", "by"]);

/** Tags are one tag without regard to case and leading zeros. */
export const tagKey = (tag) => tag.trim().split(/\s+/).join(" ").toLowerCase().replace(/(?<!\d)0+(?=\d)/g, "");
export const sameTag = (a, b) => tagKey(a) === tagKey(b);

/** The shapes with the rows of an act laid over them. */
export function withRows(shapes, rows) {
  const now = { ...shapes };
  for (const row of rows) {
    const table = TABLES[row.table];
    if (table) now[table.list] = laid(now[table.list] || [], table, row.cells);
  }
  now.next = nextTags(now, rows);
  now.walls = now.walls.map((w) => ({ ...w, thickness_m: w.thickness_m || typeOf(now, w)?.thickness_m || 0.1 }));
  now.scans = now.scans.map((s) => ({ ...s, sha256: s.sha256 || now.photos?.find((p) => sameTag(p.tag, s.photo || ""))?.sha256 || "" }));
  return now;
}

function laid(list, table, cells) {
  const said = { tag: cells[table.tag] };
  for (const [name, text] of Object.entries(cells)) {
    if (name === table.tag || LATER.has(name)) continue;
    said[table.names?.[name] || name] = table.cells[name] ? table.cells[name](text) : text;
  }
  const at = list.findIndex((thing) => sameTag(thing.tag, said.tag));
  const made = at < 0 ? { state: "", name: "", ...table.blank, ...said } : { ...list[at], ...said, tag: list[at].tag };
  if (table.list === "walls" && "wall_type" in said && !("thickness_m" in said)) made.thickness_m = null; // that of its type
  const kept = at < 0 ? [...list, made] : list.map((thing, i) => (i === at ? made : thing));
  return made.state === "removed" ? kept.filter((thing) => thing !== made) : kept;
}

function nextTags(now, rows) {
  const next = { ...now.next };
  for (const row of rows) {
    const table = TABLES[row.table];
    const kind = table?.tag;
    while (row.new && next[kind] && now[table.list].some((thing) => sameTag(thing.tag, next[kind]))) next[kind] = after(next[kind]);
  }
  return next;
}

/** The tag after a tag: E31 gives E32, R09 gives R10. */
export function after(tag) {
  const found = /^(.*?)(\d+)$/.exec(tag);
  if (!found) return `${tag}2`;
  return found[1] + String(Number(found[2]) + 1).padStart(found[2].length, "0");
}

/** Gives one fresh tag of a kind after another. */
export function fresh(shapes) {
  const next = { ...shapes.next };
  return (kind) => {
    const tag = next[kind];
    next[kind] = after(tag);
    return tag;
  };
}

export const typeOf = (shapes, wall) => shapes.wall_types.find((t) => sameTag(t.tag, wall.wall_type || ""));
export const onFloor = (shapes, floor = shapes.floor.tag) => shapes.rooms.filter((r) => sameTag(r.floor || "", floor) && r.pieces.length);
export const undrawn = (shapes) =>
  shapes.rooms.filter((r) => !r.pieces.length && (!r.floor || sameTag(r.floor, shapes.floor.tag)));
export const outlines = (shapes) => onFloor(shapes).flatMap((room) => room.pieces.map((piece) => leftwards(piece)));
export const named = (room) => room.name || room.tag;
export const find = (shapes, list, tag) => shapes[list].find((thing) => sameTag(thing.tag, tag));

/** The room in which a point lies, or the nearest within half a metre. */
export function roomAt(shapes, p) {
  const rooms = onFloor(shapes);
  const within = rooms.filter((room) => room.pieces.some((piece) => inside(piece, p)));
  if (within.length) return within[within.length - 1];
  const near = rooms.map((room) => ({ room, off: Math.min(...room.pieces.flatMap((o) => sides(o).map(([a, b]) => far(p, a, b)))) }));
  near.sort((a, b) => a.off - b.off);
  return near.length && near[0].off < 0.5 ? near[0].room : null;
}

/** The wall nearest to a point within a distance of its face. */
export function wallAt(shapes, p, within) {
  const found = shapes.walls.map((wall) => ({ wall, off: Math.max(0, far(p, ...wall.line) - wall.thickness_m / 2), axis: far(p, ...wall.line) }));
  found.sort((a, b) => a.off - b.off || a.axis - b.axis);
  return found.length && found[0].off <= within ? found[0].wall : null;
}

/** How far this floor lies above the first floor that a wall names: heights of its openings count from there. Null: not known. */
export function liftOf(shapes, wall) {
  const first = wall.floors[0] || shapes.floor.tag;
  if (sameTag(first, shapes.floor.tag)) return 0;
  const other = shapes.floors.find((f) => sameTag(f.tag, first)), here = shapes.floors.find((f) => sameTag(f.tag, shapes.floor.tag));
  return typeof other?.z_m === "number" && typeof here?.z_m === "number" ? here.z_m - other.z_m : null;
}

/** Whether an opening is on this floor: of a wall through several floors, each has its own. */
export function isHere(shapes, wall, opening) {
  const lift = liftOf(shapes, wall);
  if (wall.floors.length < 2 || lift === null || opening.z0_m === null || opening.z1_m === null) return true;
  const middle = (opening.z0_m + opening.z1_m) / 2 - lift, high = shapes.floor.ceiling_m || 2.5;
  return middle > 0 && middle < high;
}

export const openingsHere = (shapes) =>
  shapes.openings.filter((o) => shapes.walls.some((w) => sameTag(w.tag, o.wall) && isHere(shapes, w, o)));
export const openingsOf = (shapes, wall) => shapes.openings.filter((o) => sameTag(o.wall, wall.tag));
