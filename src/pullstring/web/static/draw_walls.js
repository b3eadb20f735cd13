// Walls of a room as it closes: what a wall covers already is shared, the rest becomes walls; a side that two rooms now
// share changes from the outer to the inner type by itself. A wall is one straight line and may border several rooms.
import { TOUCH_M, along, cross, dist, dot, leftwards, minus, plus, sides, tidy, times, unit, mm } from "./draw_geometry.js";
import { fresh, sameTag } from "./draw_plan.js";

const SHORTEST_M = 0.1; // ours: a shorter rest of a wall is no wall of its own
const PARALLEL = 0.02; // sine of the largest angle between two lines that are one

const length = (wall) => dist(...wall.line);

/** The stretch of a side [a, b] along which another line runs within `reach` of it: [from, to] along the side, or null. */
export function runsAlong([a, b], [c, d], reach) {
  const size = dist(a, b);
  if (size < 1e-9 || Math.abs(cross(unit(minus(b, a)), unit(minus(d, c)))) > PARALLEL) return null;
  const p = along(c, a, b), q = along(d, a, b);
  if (Math.min(Math.abs(p.off), Math.abs(q.off)) > reach) return null;
  const from = Math.max(0, Math.min(p.u, q.u)), to = Math.min(size, Math.max(p.u, q.u));
  return to - from > TOUCH_M ? [from, to] : null;
}

/** What is left of [0, size] without stretches; rests that are too short to be a wall go to their neighbours. */
export function gaps(size, stretches, shortest = SHORTEST_M) {
  let at = 0;
  const left = [];
  for (const [from, to] of [...stretches].sort((x, y) => x[0] - y[0])) {
    if (from - at > shortest) left.push([at, from]);
    at = Math.max(at, to);
  }
  if (size - at > shortest) left.push([at, size]);
  return left;
}

/** Stretches of a side that another room has on its other side. */
function beside(side, others, reach) {
  const found = [];
  for (const outline of others) {
    for (const [c, d] of sides(leftwards(outline))) {
      const runs = dot(minus(side[1], side[0]), minus(d, c)) < 0;
      const stretch = runs && runsAlong(side, [c, d], reach);
      if (stretch) found.push(stretch);
    }
  }
  return found;
}

/** Stretches that touch as one. */
export function joined(stretches) {
  const made = [];
  for (const [from, to] of [...stretches].sort((x, y) => x[0] - y[0])) {
    const last = made.at(-1);
    if (last && from <= last[1] + TOUCH_M) last[1] = Math.max(last[1], to);
    else made.push([from, to]);
  }
  return made;
}

/** Walls and openings being changed; each ends up as one row. */
export class Draft {
  constructor(shapes, floor) {
    this.shapes = shapes;
    this.floor = floor;
    this.tag = fresh(shapes);
    this.walls = shapes.walls.map((w) => ({ ...w }));
    this.openings = shapes.openings.map((o) => ({ ...o }));
  }

  /** A wall along a line, carried on from one that ends where it begins, if they are of one kind. */
  add(line, wallType) {
    const [a, b] = line.map(tidy);
    const last = this.walls.find((w) => this.#alike(w, wallType) && this.#carriesOn(w, a, b));
    if (last) return this.#carried(last, a, b);
    const wall = { tag: this.tag("wall"), line: [a, b], wall_type: wallType.tag, thickness_m: wallType.thickness_m, floors: [this.floor], made: true };
    this.walls.push(wall);
    return wall;
  }

  #alike(wall, wallType) {
    return sameTag(wall.wall_type || "", wallType.tag) && wall.floors.length === 1 && sameTag(wall.floors[0], this.floor);
  }

  #carriesOn(wall, a, b) {
    const [c, d] = wall.line;
    const straight = Math.abs(cross(unit(minus(b, a)), unit(minus(d, c)))) < 1e-3;
    const meets = [c, d].some((end) => dist(end, a) <= TOUCH_M || dist(end, b) <= TOUCH_M);
    return straight && meets && Math.abs(along(a, c, d).off) <= TOUCH_M && runsAlong([a, b], [c, d], TOUCH_M) === null;
  }

  #carried(wall, a, b) {
    const [c, d] = wall.line;
    const size = length(wall), p = along(a, c, d), q = along(b, c, d);
    const from = Math.min(0, p.u, q.u), to = Math.max(size, p.u, q.u);
    const way = unit(minus(d, c));
    wall.line = [tidy(plus(c, times(way, from))), tidy(plus(c, times(way, to)))];
    for (const opening of this.#openings(wall)) this.#shift(opening, wall, -from);
    return wall;
  }

  #openings(wall) {
    return this.openings.filter((o) => sameTag(o.wall, wall.tag));
  }

  #shift(opening, wall, by) {
    Object.assign(opening, { wall: wall.tag, u0_m: mm(opening.u0_m + by), u1_m: mm(opening.u1_m + by) });
  }

  /** Give the stretch [from, to] of a wall another type; the rests keep theirs and their openings. */
  retype(wall, [from, to], wallType) {
    const size = length(wall), shortest = Math.max(SHORTEST_M, wall.thickness_m);
    const start = from < shortest ? 0 : from, end = size - to < shortest ? size : to;
    const changed = { wall_type: wallType.tag, thickness_m: wallType.thickness_m };
    if (start === 0 && end === size) {
      Object.assign(wall, changed);
      return;
    }
    const [c, d] = wall.line, way = unit(minus(d, c));
    const parts = [[0, start, {}], [start, end, changed], [end, size, {}]].filter(([u, v]) => v - u > 1e-9);
    const hung = this.#openings(wall), old = { ...wall };
    parts.forEach(([u, v, change], i) => {
      const line = [tidy(plus(c, times(way, u))), tidy(plus(c, times(way, v)))];
      const part = i === 0 ? Object.assign(wall, { line }, change) : { ...old, tag: this.tag("wall"), line, made: true, ...change };
      if (i > 0) this.walls.push(part);
      for (const o of hung) {
        const middle = (o.u0_m + o.u1_m) / 2;
        if (!o.moved && middle >= u && middle <= v) {
          o.moved = true;
          this.#shift(o, part, -u);
        }
      }
    });
    for (const o of hung) delete o.moved;
  }

  /** The sides of a room that closes, among the outlines of all other rooms. */
  close(outline, others, { outer, inner }) {
    for (const side of sides(leftwards(outline))) {
      const taken = this.walls.map((w) => runsAlong(side, w.line, w.thickness_m / 2 + TOUCH_M)).filter(Boolean);
      this.#share(side, others, outer, inner); // may make them thinner
      const [a] = side, way = unit(minus(side[1], a)), size = dist(...side);
      const at = (u) => plus(a, times(way, u));
      for (const [from, to] of gaps(size, taken)) {
        const gap = [at(from), at(to)];
        const both = joined(beside(gap, others, TOUCH_M));
        for (const [u, v] of both) this.add([at(from + u), at(from + v)], inner);
        for (const [u, v] of gaps(to - from, both)) this.add([at(from + u), at(from + v)], outer);
      }
    }
  }

  #share(side, others, outer, inner) {
    if (sameTag(outer.tag, inner.tag)) return;
    for (const wall of this.walls) {
      // a wall that is parted here leaves its rests at the end of the list, where they are met in their turn
      if (!sameTag(wall.wall_type || "", outer.tag)) continue;
      const reach = wall.thickness_m / 2 + TOUCH_M;
      if (!runsAlong(side, wall.line, reach)) continue;
      for (const [u, v] of joined(beside(side, others, wall.thickness_m + TOUCH_M))) {
        const way = unit(minus(side[1], side[0]));
        const ends = [u, v].map((w) => along(plus(side[0], times(way, w)), ...wall.line).u).sort((x, y) => x - y);
        const stretch = [Math.max(0, ends[0]), Math.min(length(wall), ends[1])];
        if (stretch[1] - stretch[0] > SHORTEST_M) {
          this.retype(wall, stretch, inner);
          break;
        }
      }
    }
  }
}
