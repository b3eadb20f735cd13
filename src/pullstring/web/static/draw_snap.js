// Where a click is taken to be: a corner, a wall, the line of a wall carried on, a right angle, else the grid of 5 cm.
import { along, dist, far, minus, plus, sides, times, unit } from "./draw_geometry.js";
import { onFloor } from "./draw_plan.js";

export const GRID_M = 0.05;
export const IN_LINE = 0.4; // ours: what is only in line with a far corner pulls less than what is touched
const onGrid = (value) => Math.round(value / GRID_M) * GRID_M;

/** Everything of the drawing that can be met: corners, and lines between them. */
export function targets(shapes, below = []) {
  const lines = [...onFloor(shapes), ...below].flatMap((room) => room.pieces.flatMap(sides)).concat(shapes.walls.map((w) => w.line));
  return { lines, corners: lines.flat() };
}

/**
 * The point that a pointer means.
 *
 * `reach` is how far it may be pulled, in metres; `from` the corner before, for right angles. Gives the point, and in
 * `why` what pulled it.
 */
export function snap(p, { targets: { lines, corners }, reach, from = null, free = false }) {
  if (free) return { at: p, why: "free" };
  const corner = nearest([...corners], p, reach);
  if (corner) return { at: corner, why: "corner" };
  const touched = lines.map((line) => ({ line, off: far(p, ...line) })).sort((a, b) => a.off - b.off)[0];
  const steep = touched && touched.off <= reach && slanting(touched.line);
  if (steep) return { at: along(p, ...touched.line).foot, why: "wall" };
  const guide = from && slantingGuide(p, lines, from, reach);
  if (guide) return guide;
  return squared(p, corners, reach, from, touched && touched.off <= reach ? touched.line : null);
}

function nearest(points, p, reach) {
  let best = null, least = reach;
  for (const q of points) {
    const off = dist(p, q);
    if (off <= least) [best, least] = [q, off];
  }
  return best;
}

function slanting([a, b]) {
  const way = unit(minus(b, a));
  return Math.min(Math.abs(way[0]), Math.abs(way[1])) > 0.01;
}

/** At right angles to a slanting wall that begins at the corner before. */
function slantingGuide(p, lines, from, reach) {
  for (const [a, b] of lines.filter(slanting)) {
    if (far(from, a, b) > 0.01) continue;
    const way = unit(minus(b, a));
    for (const side of [way, [-way[1], way[0]]]) {
      const run = along(p, from, plus(from, side));
      if (Math.abs(run.off) <= reach) return { at: plus(from, times(side, onGrid(run.u))), why: "right angle" };
    }
  }
  return null;
}

/** Level and upright apart: on the line of any corner, in line with the corner before, else on the grid. */
function squared(p, corners, reach, from, wall) {
  const whys = [];
  const level = wall && Math.abs(wall[1][1] - wall[0][1]) < Math.abs(wall[1][0] - wall[0][0]) ? 1 : 0;
  const at = [0, 1].map((axis) => {
    if (wall && axis === level) {
      whys.push("wall");
      return along(p, ...wall).foot[axis];
    }
    const marks = corners.map((c) => c[axis]);
    const pulled = from && Math.abs(from[axis] - p[axis]) <= reach ? from[axis] : closest(marks, p[axis], reach * IN_LINE);
    if (pulled !== null) whys.push(from && pulled === from[axis] ? "right angle" : "in line");
    return pulled === null ? onGrid(p[axis]) : pulled;
  });
  return { at, why: whys[0] || "grid" };
}

function closest(marks, value, reach) {
  let best = null, least = reach;
  for (const mark of marks) {
    const off = Math.abs(mark - value);
    if (off <= least) [best, least] = [mark, off];
  }
  return best;
}
