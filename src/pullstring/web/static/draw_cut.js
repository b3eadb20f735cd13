// One room into two by a straight wall through a point: across the nearest side, or along it.
import { along, area, dist, far, minus, plus, sides, times, unit } from "./draw_geometry.js";

/** The nearest side of an outline to a point. */
export function nearestSide(outline, p) {
  const all = sides(outline).map((side, i) => ({ side, i, off: far(p, ...side) }));
  return all.sort((a, b) => a.off - b.off)[0];
}

/** Where the line through p in a direction first leaves the outline, on both sides: two ends with the sides they lie on. */
export function through(outline, p, way) {
  const hits = [];
  sides(outline).forEach(([a, b], i) => {
    const da = along(a, p, plus(p, way)), db = along(b, p, plus(p, way));
    if (da.off > 0 === db.off > 0) return;
    const share = da.off / (da.off - db.off);
    hits.push({ i, u: da.u + (db.u - da.u) * share, at: plus(a, times(minus(b, a), share)) });
  });
  const before = hits.filter((h) => h.u <= 0).sort((a, b) => b.u - a.u)[0];
  const beyond = hits.filter((h) => h.u > 0).sort((a, b) => a.u - b.u)[0];
  return before && beyond ? [before, beyond] : null;
}

/** Both parts of an outline, cut from one end to the other; the smaller one first. */
export function parts(outline, [one, two]) {
  const [first, last] = one.i <= two.i ? [one, two] : [two, one];
  const within = outline.slice(first.i + 1, last.i + 1);
  const without = [...outline.slice(last.i + 1), ...outline.slice(0, first.i + 1)];
  const made = [[first.at, ...within, last.at], [last.at, ...without, first.at]].map(plain);
  if (made.some((part) => part.length < 3 || area(part) < 0.01)) return null;
  return made.sort((a, b) => area(a) - area(b));
}

/** Without corners that lie on one another. */
const plain = (outline) => outline.filter((p, i) => dist(p, outline[(i + 1) % outline.length]) > 1e-6);

/** The direction of a cut through p: straight away from the nearest side, or along it when turned. */
export function direction(outline, p, turned) {
  const [a, b] = nearestSide(outline, p).side;
  const way = unit(minus(b, a));
  return turned ? way : [-way[1], way[0]];
}

/** A cut of one outline through p: the line and both parts, or null where nothing can be cut. */
export function cut(outline, p, turned) {
  const ends = through(outline, p, direction(outline, p, turned));
  const made = ends && parts(outline, ends);
  return made ? { line: ends.map((e) => e.at), parts: made } : null;
}
