// A picture under the drawing: from its dots to metres of the house. Always worked out anew from the clicks as they were made.
//
// Two clicks and a length give dots per metre. A second length crosswise gives a second one; photographs of plans are
// skewed, so both are kept and the picture is stretched to fit both. Points seen on two floors then shift, turn and size it
// (least squares in complex numbers: w = s q + t with s = sum(conj(q') w') / sum(|q'|^2), primes from the means).
import { minus, plus, times, dot, cross, dist, unit } from "./draw_geometry.js";

export const COARSE_MM = 20; // ours: with larger dots a wall can no longer be met
export const SKEWED_PERCENT = 2; // ours: from here the two lengths contradict one another
const SQUARE_DEG = 3; // ours: nearer to a right angle than this, the two lines are at right angles in the house
const LEVEL_DEG = 20; // ours: a line nearer to the picture's edge than this was meant to run along a wall
const CROSSWISE_DEG = 45;

const numbers = (text) => text.trim().split(/\s+/).map(Number);
const degrees = (turn) => (turn * 180) / Math.PI;

/** `px py; px py` as points. */
export const readPoints = (text) => (text || "").split(";").filter((p) => p.trim()).map(numbers);
export const writePoints = (points) => points.map(([x, y]) => `${round(x)} ${round(y)}`).join("; ");

/** `px py = x y; ...` as pairs of a dot and a place. */
export const readPairs = (text) =>
  (text || "").split(";").filter((p) => p.includes("=")).map((p) => {
    const [seen, at] = p.split("=");
    return { seen: numbers(seen), at: numbers(at) };
  });
export const writePairs = (pairs) =>
  pairs.map(({ seen, at }) => `${round(seen[0])} ${round(seen[1])} = ${round(at[0], 3)} ${round(at[1], 3)}`).join("; ");

const round = (value, digits = 1) => Number(value.toFixed(digits)) + 0;
const up = ([x, y]) => [x, -y]; // dots count downwards

function line(points, length) {
  const [a, b] = points;
  if (!a || !b || !(length > 0) || dist(a, b) < 1) return null;
  return { from: up(a), way: unit(minus(up(b), up(a))), metres: length / dist(a, b) };
}

/** How far a direction is from the nearest of level and upright, in degrees from -45 to 45. */
function lean(way) {
  const turn = degrees(Math.atan2(way[1], way[0]));
  return turn - 90 * Math.round(turn / 90);
}

/** Columns of the matrix that takes `one` to `toOne` and `two` to `toTwo`. */
function mapping(one, two, toOne, toTwo) {
  const k = cross(one, two);
  const column = (p) => plus(times(toOne, cross(p, two) / k), times(toTwo, cross(one, p) / k));
  return [column([1, 0]), column([0, 1])];
}

function stretched(first, second) {
  const same = [times([1, 0], first.metres), times([0, 1], first.metres)];
  if (!second) return { columns: same, percent: null };
  const percent = (second.metres / first.metres - 1) * 100;
  const apart = degrees(Math.asin(Math.min(1, Math.abs(cross(first.way, second.way)))));
  if (apart < CROSSWISE_DEG) {
    const mean = (first.metres + second.metres) / 2;
    return { columns: [times([1, 0], mean), times([0, 1], mean)], percent, slanting: true };
  }
  const left = [-first.way[1], first.way[0]];
  const upright = dot(left, second.way) < 0 ? times(left, -1) : left;
  const way = 90 - apart <= SQUARE_DEG ? upright : second.way;
  return { columns: mapping(first.way, second.way, times(first.way, first.metres), times(way, second.metres)), percent };
}

const applied = ([c0, c1], p) => plus(times(c0, p[0]), times(c1, p[1]));
const spun = (p, [re, im]) => [p[0] * re - p[1] * im, p[0] * im + p[1] * re];

/** Size and turn s and shift t by least squares, for pairs of a point q and its place w. */
export function fitted(pairs) {
  const mean = (name) => times(pairs.reduce((sum, p) => plus(sum, p[name]), [0, 0]), 1 / pairs.length);
  const q0 = mean("q"), w0 = mean("w");
  let re = 0, im = 0, size = 0;
  for (const { q, w } of pairs) {
    const a = minus(q, q0), b = minus(w, w0);
    re += dot(a, b);
    im += cross(a, b);
    size += dot(a, a);
  }
  const s = size > 1e-12 ? [re / size, im / size] : [1, 0];
  return { s, t: minus(w0, spun(q0, s)) };
}

/**
 * How a picture lies under the floor.
 *
 * Gives null while neither a length nor two common points are known. `percent` is by how much the crosswise length asks
 * for larger dots than the first; `leftOver_m` how far the common points miss their places; `bySize` what they ask of the size.
 */
export function placed(scan) {
  const first = line(readPoints(scan.scale_points), scan.scale_length_m);
  const second = first && line(readPoints(scan.cross_points), scan.cross_length_m);
  const pairs = readPairs(scan.common_points);
  if (!first && pairs.length < 2) return null;
  const { columns, percent, slanting } = first ? stretched(first, second) : { columns: [[1, 0], [0, 1]], percent: null };
  const leans = first ? lean(first.way) : 0;
  const turn = Math.abs(leans) <= LEVEL_DEG ? (-leans * Math.PI) / 180 : 0;
  const straight = columns.map((c) => spun(c, [Math.cos(turn), Math.sin(turn)]));
  const seen = pairs.map(({ seen: p, at }) => ({ q: applied(straight, up(p)), w: at }));
  let fit = { s: [1, 0], t: [0, 0] };
  if (seen.length >= 2) fit = fitted(seen);
  else if (seen.length === 1) fit.t = minus(seen[0].w, seen[0].q);
  else fit.t = times(applied(straight, first.from), -1);
  return described({ straight, fit, seen, percent, slanting, scaled: Boolean(first) });
}

function described({ straight, fit, seen, percent, slanting, scaled }) {
  const [c0, c1] = straight.map((c) => spun(c, fit.s));
  const matrix = [c0[0], c0[1], -c1[0], -c1[1], fit.t[0], fit.t[1]]; // x = a px + c py + e, y = b px + d py + f
  const misses = seen.map(({ q, w }) => dist(plus(spun(q, fit.s), fit.t), w));
  return {
    matrix,
    mmPerDot: Math.sqrt(Math.abs(matrix[0] * matrix[3] - matrix[1] * matrix[2])) * 1000,
    turnedDeg: degrees(Math.atan2(matrix[1], matrix[0])),
    percent,
    slanting: Boolean(slanting),
    leftOver_m: misses,
    bySize: scaled && seen.length >= 2 ? (Math.hypot(...fit.s) - 1) * 100 : null,
  };
}

export const toHouse = ([a, b, c, d, e, f], [x, y]) => [a * x + c * y + e, b * x + d * y + f];
export function toDots([a, b, c, d, e, f], [x, y]) {
  const k = a * d - b * c;
  return [(d * (x - e) - c * (y - f)) / k, (a * (y - f) - b * (x - e)) / k];
}

/** Two common points that keep the first place and make the line between them level or upright, whichever is nearer. */
export function levelled(matrix, from, to) {
  const turn = Math.round(Math.atan2(to[1] - from[1], to[0] - from[0]) / (Math.PI / 2)) * (Math.PI / 2);
  const end = plus(from, times([Math.cos(turn), Math.sin(turn)], dist(from, to)));
  return [{ seen: toDots(matrix, from), at: from }, { seen: toDots(matrix, to), at: end }];
}
