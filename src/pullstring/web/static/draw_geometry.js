// Points, lines and outlines in metres of a building's own axes: x along, y across, angles to the left.

export const TOUCH_M = 0.03; // nearer than this, two points or lines are one, as on the drawings

export const minus = (a, b) => [a[0] - b[0], a[1] - b[1]];
export const plus = (a, b) => [a[0] + b[0], a[1] + b[1]];
export const times = (a, k) => [a[0] * k, a[1] * k];
export const dot = (a, b) => a[0] * b[0] + a[1] * b[1];
export const cross = (a, b) => a[0] * b[1] - a[1] * b[0];
export const dist = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
export const mm = (value) => Math.round(value * 1000) / 1000 + 0;
export const tidy = (p) => [mm(p[0]), mm(p[1])];
export const unit = (a) => times(a, 1 / (Math.hypot(a[0], a[1]) || 1));

/** Where a point stands to the line from a to b: metres along it, metres to the left of it, and the foot on the line. */
export function along(p, a, b) {
  const way = unit(minus(b, a));
  const from = minus(p, a);
  const u = dot(from, way);
  return { u, off: cross(way, from), foot: plus(a, times(way, u)) };
}

/** Distance of a point to the stretch from a to b. */
export function far(p, a, b) {
  const { u, off } = along(p, a, b);
  if (u < 0) return dist(p, a);
  return u > dist(a, b) ? dist(p, b) : Math.abs(off);
}

/** Sides of an outline, one after another. */
export const sides = (outline) => outline.map((a, i) => [a, outline[(i + 1) % outline.length]]);

/** Area by the shoelace formula (Gauss); above nothing when the corners go round to the left. */
export const turned = (outline) => sides(outline).reduce((sum, [a, b]) => sum + cross(a, b), 0) / 2;
export const area = (outline) => Math.abs(turned(outline));
export const leftwards = (outline) => (turned(outline) < 0 ? [...outline].reverse() : outline);

/** Whether a point lies inside (even-odd rule); on the edge it may go either way. */
export function inside(outline, [x, y]) {
  let found = false;
  for (const [[x0, y0], [x1, y1]] of sides(outline)) {
    if (y0 > y !== y1 > y && x < x0 + ((y - y0) * (x1 - x0)) / (y1 - y0)) found = !found;
  }
  return found;
}

/** Where two stretches cross, or null. */
export function crossing(a, b, c, d) {
  const r = minus(b, a), s = minus(d, c), k = cross(r, s);
  if (Math.abs(k) < 1e-12) return null;
  const t = cross(minus(c, a), s) / k, v = cross(minus(c, a), r) / k;
  return t >= 0 && t <= 1 && v >= 0 && v <= 1 ? plus(a, times(r, t)) : null;
}

/** Stretches [from, to] in y that an outline covers on the upright line at x. */
function covered(outline, x) {
  const found = [];
  for (const [[x0, y0], [x1, y1]] of sides(outline)) {
    if (x0 > x !== x1 > x) found.push(y0 + ((x - x0) * (y1 - y0)) / (x1 - x0));
  }
  found.sort((a, b) => a - b);
  return found.reduce((pairs, y, i) => (i % 2 ? pairs : [...pairs, [y, found[i + 1]]]), []);
}

/**
 * What two outlines have in common: its area, and a box around it. Between two neighbouring corners or crossings all
 * edges are straight, so the middle of each strip times its width is exact.
 */
export function shared(one, other) {
  const xs = [...one, ...other].map((p) => p[0]);
  for (const [a, b] of sides(one)) {
    for (const [c, d] of sides(other)) {
      const at = crossing(a, b, c, d);
      if (at) xs.push(at[0]);
    }
  }
  xs.sort((a, b) => a - b);
  let sum = 0, box = null;
  for (let i = 1; i < xs.length; i += 1) {
    const wide = xs[i] - xs[i - 1], x = (xs[i] + xs[i - 1]) / 2;
    if (wide < 1e-9) continue;
    for (const [a0, a1] of covered(one, x)) {
      for (const [b0, b1] of covered(other, x)) {
        const low = Math.max(a0, b0), high = Math.min(a1, b1);
        if (high - low < 1e-9) continue;
        sum += wide * (high - low);
        box = grown(box, [xs[i - 1], low, xs[i], high]);
      }
    }
  }
  return { area: sum, box };
}

const grown = (box, [x0, y0, x1, y1]) =>
  box ? [Math.min(box[0], x0), Math.min(box[1], y0), Math.max(box[2], x1), Math.max(box[3], y1)] : [x0, y0, x1, y1];

/** The box around points, or null when there are none. */
export const around = (points) => points.reduce((box, [x, y]) => grown(box, [x, y, x, y]), null);

/** A spot well inside: the middle of the longest level or upright chord through the middles of the strips. */
export function spot(outline) {
  const ys = [...new Set(outline.map((p) => p[1]))].sort((a, b) => a - b);
  let best = { reach: -1, at: outline[0] };
  for (let i = 1; i < ys.length; i += 1) {
    const y = (ys[i] + ys[i - 1]) / 2;
    const swapped = outline.map(([a, b]) => [b, a]);
    for (const [x0, x1] of covered(swapped, y)) {
      const reach = (x1 - x0) * Math.min(2, ys[i] - ys[i - 1]);
      if (reach > best.reach) best = { reach, at: [(x0 + x1) / 2, y] };
    }
  }
  return best.at;
}

/** Whether two sides of an outline that do not meet at a corner cross. */
export function crossesItself(outline) {
  const all = sides(outline);
  return all.some(([a, b], i) =>
    all.some(([c, d], j) => j > i + 1 && !(i === 0 && j === all.length - 1) && crossing(a, b, c, d) !== null));
}
