// Doors and windows: one click on a wall. Between two rooms it is a door, in an outer wall a window; T takes another kind.
import { TOUCH_M, along, crossing, dist, far, inside, mm, plus, times, unit, minus } from "./draw_geometry.js";
import { lengths, says } from "./draw_lengths.js";
import { openingMark } from "./draw_marks.js";
import { isHere, liftOf, onFloor, openingsOf, sameTag, wallAt } from "./draw_plan.js";
import { metre, row } from "./draw_rows.js";
import { gaps } from "./draw_walls.js";

export const KINDS = {
  door: { width: 0.8, z0: 0, z1: 2.0 },
  window: { width: 1.0, z0: 0.9, z1: 2.1 },
  hatch: { width: 0.6, z0: 0.9, z1: 1.6 },
  open: { width: 1.0, z0: 0, z1: 2.1 },
}; // ours, common practice; the record says "assumed" until somebody measures
const NARROWEST_M = 0.4;
const ROUND_M = 0.05;

/** Stretches of a wall that other walls and openings leave free. */
export function freeStretches(shapes, wall, without = "") {
  const [a, b] = wall.line, size = dist(a, b), taken = [];
  for (const other of shapes.walls) {
    const u = sameTag(other.tag, wall.tag) ? null : meets(wall, other);
    if (u !== null) taken.push([u - other.thickness_m / 2, u + other.thickness_m / 2]);
  }
  for (const o of openingsOf(shapes, wall)) if (!sameTag(o.tag, without) && isHere(shapes, wall, o)) taken.push([o.u0_m, o.u1_m]);
  return gaps(size, taken.map(([u, v]) => [Math.max(0, u), Math.min(size, v)]).filter(([u, v]) => v > u), NARROWEST_M - 0.001);
}

/** Where along a wall another one meets it, or null. */
function meets(wall, other) {
  const [a, b] = wall.line;
  const ends = other.line.filter((end) => far(end, a, b) <= wall.thickness_m / 2 + TOUCH_M);
  if (ends.length === 2) return null; // one line with it
  if (ends.length) return along(ends[0], a, b).u;
  const at = crossing(a, b, ...other.line);
  return at ? along(at, a, b).u : null;
}

/** The opening that a click at u gives: as wide as wanted if there is space, else as wide as there is. */
export function fitted(shapes, wall, u, width, without = "") {
  const free = freeStretches(shapes, wall, without);
  const off = ([from, to]) => Math.max(0, from - u, u - to);
  const stretch = free.sort((a, b) => off(a) - off(b))[0];
  if (!stretch || off(stretch) > width) return null;
  const wide = Math.min(width, stretch[1] - stretch[0]);
  const start = Math.round((u - wide / 2) / ROUND_M) * ROUND_M;
  const u0 = Math.min(Math.max(stretch[0], start), stretch[1] - wide);
  return { u0_m: mm(u0), u1_m: mm(u0 + wide), narrow: wide < width - 0.001 };
}

/** Rooms on both sides of a wall at u. */
export function sidesAt(shapes, wall, u) {
  const [a, b] = wall.line, way = unit(minus(b, a)), off = wall.thickness_m / 2 + 0.1;
  const at = plus(a, times(way, u));
  return [1, -1].map((side) => {
    const p = plus(at, times([-way[1], way[0]], side * off));
    return onFloor(shapes).find((r) => r.pieces.some((o) => inside(o, p))) || null;
  });
}

export const kindAt = (shapes, wall, u) => (sidesAt(shapes, wall, u).every(Boolean) ? "door" : "window");

export class Opening {
  words = "Door or window";
  constructor() { this.clear(); }
  clear() { Object.assign(this, { kind: "", width: null }); }
  anchor() { return null; }
  #made(app, p) {
    const wall = wallAt(app.shapes, p, Math.max(app.reach(), 0.15));
    if (!wall) return null;
    const { u } = along(p, ...wall.line);
    const fill = this.kind || kindAt(app.shapes, wall, u);
    const place = fitted(app.shapes, wall, u, this.width || KINDS[fill].width);
    return place && { wall, fill, place };
  }
  says(app, p) {
    const made = this.#made(app, p);
    const kind = this.kind || "door or window";
    if (!made) return `click a wall: ${kind}; T takes another kind, a typed length another width`;
    const { place, wall, fill } = made;
    return `${fill} in ${wall.tag}: ${says(place.u1_m - place.u0_m)} wide, ${says(place.u0_m)} from its first end; T: another kind`;
  }
  click(app, p) {
    const made = this.#made(app, p);
    if (!made) return app.say("No wall with free space is here. Click on a wall, clear of its doors and corners.", true);
    const { wall, fill, place } = made, { z0, z1 } = KINDS[fill];
    const opening = app.shapes.next.opening, lift = liftOf(app.shapes, wall);
    const heights = lift === null ? {} : { z0_m: metre(z0 + lift), z1_m: metre(z1 + lift) };
    const how = { grade: "assumed", method: `${app.how().method}; common size, not measured` };
    const cells = { opening, wall: wall.tag, u0_m: metre(place.u0_m), u1_m: metre(place.u1_m), ...heights, fill, ...how };
    app.act(`${fill} in ${wall.tag}`, [row("openings", cells, true)]);
    if (place.narrow) app.say(`There is space for ${says(place.u1_m - place.u0_m)} only, so the ${fill} is that wide.`, true);
    return true;
  }
  typed(app, text) {
    const [size] = lengths(text);
    if (!size) return false;
    this.width = size;
    return true;
  }
  toggle() {
    const order = ["", ...Object.keys(KINDS)];
    this.kind = order[(order.indexOf(this.kind) + 1) % order.length];
  }
  back() { this.clear(); }
  preview(app, p) {
    const made = this.#made(app, p);
    return made ? openingMark(made.wall, { ...made.place, fill: made.fill }) : "";
  }
}
