// Marks of the drawing as SVG in metres, heights upward in the house, downward on the sheet. The style stands in draw.css.
import { along, dist, minus, plus, spot, times, unit } from "./draw_geometry.js";
import { find, typeOf } from "./draw_plan.js";

const n = (value) => String(Math.round(value * 1000) / 1000 + 0);
export const pt = ([x, y]) => `${n(x)} ${n(-y)}`;
export const path = (points, closed = false) => `M${points.map(pt).join("L")}${closed ? "Z" : ""}`;
export const escaped = (text) => String(text).replace(/[&<>"]/g, (c) => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;" })[c]);
export const stroke = (d, css, more = "") => `<path d="${d}" class="${css}"${more}/>`;
export const letters = (words, [x, y], css) => `<text x="${n(x)}" y="${n(-y)}" class="${css}">${escaped(words)}</text>`;

export const outlineMark = (points) => stroke(path(points, points.length > 2), "next");
export const inkLine = (points) => stroke(path(points), "next firm");
export const crossMark = ([x, y], r, css = "spot") => stroke(`${path([[x - r, y], [x + r, y]])}${path([[x, y - r], [x, y + r]])}`, css);

/** A wall's own axes: u along it, v to the left. */
export function axes(wall) {
  const [a, b] = wall.line, way = unit(minus(b, a)), left = [-way[1], way[0]];
  return (u, v) => plus(a, plus(times(way, u), times(left, v)));
}

/** The wall's box, carried on at each end by half the thickness of the wall that it meets there. */
export function wallBox(wall, walls) {
  const [a, b] = wall.line, half = wall.thickness_m / 2, at = axes(wall), size = dist(a, b);
  const grow = [a, b].map((end) => Math.max(0, ...walls.filter((o) => o !== wall && meetsAt(o, end, wall)).map((o) => o.thickness_m / 2)));
  return [at(-grow[0], -half), at(size + grow[1], -half), at(size + grow[1], half), at(-grow[0], half)];
}

function meetsAt(other, end, wall) {
  const way = unit(minus(wall.line[1], wall.line[0])), theirs = unit(minus(other.line[1], other.line[0]));
  if (Math.abs(way[0] * theirs[1] - way[1] * theirs[0]) < 0.1) return false;
  const { u, off } = along(end, ...other.line);
  return Math.abs(off) <= 0.03 && u > -0.03 && u < dist(...other.line) + 0.03;
}

/** Marks of the material in a wall's own axes: rungs for lath, a zigzag for metal lath, studs for timber and board. */
function materialMarks(hatch, size, thickness) {
  const half = thickness / 2, step = 0.12, count = Math.floor(size / step);
  const upTo = (k, make) => Array.from({ length: Math.max(0, k) }, (_, i) => make(i));
  if (hatch === "lath") return upTo(count, (i) => [[(i + 1) * step, -half], [(i + 1) * step, half]]);
  if (hatch === "metal lath") return [upTo(count + 1, (i) => [i * step, i % 2 ? half : -half])];
  if (hatch !== "timber" && hatch !== "board") return [];
  return upTo(Math.floor(size / 0.6) + 1, (i) => (i + 0.3) * 0.6).filter((u) => u + 0.14 < size).flatMap((u) => {
    const v = u + 0.14, studs = [[[u, -half], [u, half]], [[v, -half], [v, half]]];
    return hatch === "timber" ? [...studs, [[u, -half], [v, half]], [[u, half], [v, -half]]] : studs;
  });
}

/** All walls: outlines first, then their bodies over them, so that walls that meet have one outline. */
export function wallMarks(shapes) {
  const walls = shapes.walls, boxes = walls.map((w) => path(wallBox(w, walls), true));
  const planned = (w) => (w.state === "planned" ? " toadd" : "");
  const heavy = (w) => (w.thickness_m >= 0.2 ? " heavy" : "");
  const rank = (w) => -w.thickness_m;
  const order = walls.map((w, i) => ({ w, i })).sort((p, q) => rank(q.w) - rank(p.w));
  const edges = order.map(({ w, i }) => stroke(boxes[i], `wall-edge${heavy(w)}${planned(w)}`)).join("");
  const bodies = order.map(({ w, i }) => {
    const hatch = typeOf(shapes, w)?.hatch || "none", at = axes(w);
    const ground = stroke(boxes[i], "wall-body", ` data-wall="${escaped(w.tag)}"`);
    const fill = hatch === "brick" || hatch === "rubble" ? stroke(boxes[i], "wall-fill", ` style="fill:url(#hatch-${hatch})"`) : "";
    const marks = materialMarks(hatch, dist(...w.line), w.thickness_m).map((m) => path(m.map(([u, v]) => at(u, v)))).join("");
    return ground + fill + (marks ? stroke(marks, "material") : "");
  });
  return edges + bodies.join("");
}

/** An opening cut out of its wall: three lines for a window, a leaf and its quarter circle for a door. */
export function openingMark(wall, { u0_m: u0, u1_m: u1, fill }, css = "") {
  const at = axes(wall), half = wall.thickness_m / 2, wide = u1 - u0;
  const hole = stroke(path([at(u0, -half), at(u1, -half), at(u1, half), at(u0, half)], true), `hole ${css}`);
  const jambs = path([at(u0, -half), at(u0, half)]) + path([at(u1, -half), at(u1, half)]);
  const faces = [-half, half].map((v) => path([at(u0, v), at(u1, v)])).join("");
  if (fill === "window") return hole + stroke(`${jambs}${faces}${path([at(u0, 0), at(u1, 0)])}`, `thin ${css}`);
  if (fill !== "door") return hole + stroke(jambs, `thin ${css}`) + stroke(faces, `thin dash ${css}`);
  const leaf = `${path([at(u0, half), at(u0, half + wide)])}A${n(wide)} ${n(wide)} 0 0 1 ${pt(at(u1, half))}`;
  return hole + stroke(jambs + leaf, `thin ${css}`);
}

/** Outlet: half a disc, its flat to the wall. Access point: disc, dot and four rays. Block: a square with rungs. Unit: a square. End: a tail. */
export function symbolMark(kind, at, away, planned, k) {
  const css = planned ? "open" : "full", side = [-away[1], away[0]];
  const p = (u, v) => plus(at, plus(times(away, u * k), times(side, v * k)));
  if (kind === "outlet") {
    const r = n(0.15 * k);
    return stroke(`${path([p(0, 0.15)])}A${r} ${r} 0 0 1 ${pt(p(0, -0.15))}Z`, `thing ${css}`);
  }
  if (kind === "block") {
    const rungs = [0.09, 0.18, 0.27].map((u) => path([p(u, -0.13), p(u, 0.13)])).join("");
    return stroke(path([p(0, -0.18), p(0, 0.18), p(0.36, 0.18), p(0.36, -0.18)], true), `thing ${css}`) + stroke(rungs, `rung ${css}`);
  }
  if (kind === "unit") return stroke(path([p(-0.14, -0.14), p(-0.14, 0.14), p(0.14, 0.14), p(0.14, -0.14)], true), `thing ${css}`);
  if (kind === "end") return stroke(path([p(-0.12, -0.12), p(0.12, 0.12)]), `ray ${css}`);
  const slant = Math.SQRT1_2 * k, [x, y] = at;
  const rays = [[1, 1], [1, -1], [-1, 1], [-1, -1]].map(([a, b]) => path([0.22, 0.36].map((r) => [x + a * r * slant, y + b * r * slant]))).join("");
  const disc = (r, c) => `<circle cx="${n(x)}" cy="${n(-y)}" r="${n(r * k)}" class="${c}"/>`;
  return stroke(rays, `ray ${css}`) + disc(0.17, `thing ${css}`) + disc(0.06, `dot ${css}`);
}

/** A pathway: from the middle of one room to that of the next. */
export function wayMark(shapes, tags, to = null) {
  const rooms = tags.map((tag) => find(shapes, "rooms", tag)).filter((r) => r?.pieces.length);
  const points = [...rooms.map((r) => spot(r.pieces[0])), ...(to ? [to] : [])];
  return points.length > 1 ? stroke(path(points), "way") : points.map((p) => crossMark(p, 0.2)).join("");
}

export const PATTERNS = `<defs>
<pattern id="hatch-brick" width=".16" height=".16" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M.08 0V.16" class="material"/></pattern>
<pattern id="hatch-rubble" width=".46" height=".3" patternUnits="userSpaceOnUse"><path class="material" d="M0 .02Q.12 -.03 .24 .02T.46 .02M.22 .02L.2 .16M0 .17Q.11 .12 .23 .17T.46 .17M.06 .16L.08 .3M.34 .18L.36 .3"/></pattern>
</defs>`;
