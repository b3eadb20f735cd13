// Things that are drawn already: picked, moved, made larger, given another name or kind, taken away.
import { TOUCH_M, along, dist, far, inside, mm, minus, plus, tidy, times, unit } from "./draw_geometry.js";
import { axes, path, stroke } from "./draw_marks.js";
import { find, named, onFloor, openingsHere, openingsOf, outlines, roomAt, sameTag } from "./draw_plan.js";
import { metre, outlineText, row, wallRows } from "./draw_rows.js";
import { placedThings } from "./draw_sheet.js";
import { face, FORMS } from "./draw_things.js";
import { fitted } from "./draw_openings.js";
import { Draft, runsAlong } from "./draw_walls.js";

export const ONE = { rooms: "room", walls: "wall", openings: "opening", outlets: "outlet", positions: "position", units: "unit", blocks: "block", ends: "end", pathways: "pathway" };

/** What lies under a point, the smallest first: { list, tag }, or null. */
export function under(shapes, p, reach) {
  const thing = placedThings(shapes).map((t) => ({ t, off: dist(t.at, p) })).sort((a, b) => a.off - b.off)[0];
  if (thing && thing.off <= Math.max(reach * 1.6, 0.3)) return { list: thing.t.list, tag: thing.t.thing.tag };
  for (const o of openingsHere(shapes)) {
    const wall = find(shapes, "walls", o.wall);
    if (!wall) continue;
    const { u, off } = along(p, ...wall.line);
    if (u >= o.u0_m && u <= o.u1_m && Math.abs(off) <= wall.thickness_m / 2 + reach / 2) return { list: "openings", tag: o.tag };
  }
  const wall = shapes.walls.find((w) => far(p, ...w.line) <= w.thickness_m / 2 + reach / 3);
  if (wall) return { list: "walls", tag: wall.tag };
  const room = onFloor(shapes).findLast((r) => r.pieces.some((o) => inside(o, p)));
  return room ? { list: "rooms", tag: room.tag } : null;
}

export const thingOf = (shapes, picked) => (picked ? find(shapes, picked.list, picked.tag) : null);
export const saysWhat = (shapes, picked) => {
  const thing = thingOf(shapes, picked);
  return thing ? `${ONE[picked.list] === "position" ? "access point" : ONE[picked.list]} ${thing.tag}${thing.name ? ` ${thing.name}` : ""}` : "";
};

/** Rows that move what is picked by a distance; null when it stays. */
export function moveRows(app, picked, by, to = null) {
  const { shapes } = app, thing = thingOf(shapes, picked);
  if (!thing) return null;
  if (picked.list === "walls") return wallMoveRows(app, thing, by);
  if (picked.list === "openings") return openingMoveRows(app, thing, by);
  if (!("x_m" in thing) || thing.x_m === null) return null;
  const raw = to || plus([thing.x_m, thing.y_m], by), room = roomAt(shapes, raw);
  const stuck = to && FORMS[ONE[picked.list]]?.hangs ? face(shapes, raw, room) : null;
  const at = tidy(stuck ? stuck.at : raw);
  return [row(picked.list, { [ONE[picked.list]]: thing.tag, x_m: metre(at[0]), y_m: metre(at[1]), room: room?.tag, ...app.how() })];
}

function openingMoveRows(app, opening, by) {
  const wall = find(app.shapes, "walls", opening.wall), way = unit(minus(wall.line[1], wall.line[0]));
  const middle = (opening.u0_m + opening.u1_m) / 2 + by[0] * way[0] + by[1] * way[1];
  return sizedRows(app, opening, middle, opening.u1_m - opening.u0_m);
}

/** Rows that give an opening another middle or width, as far as its wall leaves space. */
export function sizedRows(app, opening, middle, width) {
  const wall = find(app.shapes, "walls", opening.wall);
  const place = fitted(app.shapes, wall, middle, Math.max(width, 0.4), opening.tag);
  if (!place || (place.u0_m === opening.u0_m && place.u1_m === opening.u1_m)) return null;
  return [row("openings", { opening: opening.tag, u0_m: metre(place.u0_m), u1_m: metre(place.u1_m), ...app.how() })];
}

/** A wall shifted across itself takes along what ends or lies on its line: rooms' corners, other walls, outlets. */
export function wallMoveRows(app, wall, by) {
  const { shapes } = app, [a, b] = wall.line, way = unit(minus(b, a)), out = [-way[1], way[0]];
  const shift = times(out, Math.round((by[0] * out[0] + by[1] * out[1]) * 1000) / 1000);
  if (Math.hypot(...shift) < 0.001) return null;
  const line = shapes.walls.filter((w) => runsAlong([plus(a, times(way, -1e4)), plus(b, times(way, 1e4))], w.line, TOUCH_M));
  const [low, high] = chain(wall, line, a, b);
  const on = (p, reach = TOUCH_M) => {
    const { u, off } = along(p, a, b);
    return Math.abs(off) <= reach && u >= low - TOUCH_M && u <= high + TOUCH_M;
  };
  const to = (p) => (on(p) ? tidy(plus(p, shift)) : p);
  const rooms = onFloor(shapes).filter((r) => r.pieces.flat().some((p) => on(p)));
  const rows = rooms.map((r) => row("rooms", { room: r.tag, outline: outlineText(r.pieces.map((o) => o.map(to))), ...app.how() }));
  const draft = new Draft(shapes, shapes.floor.tag);
  for (const w of draft.walls) shifted(draft, w, w.line.map(to));
  const hung = ["outlets", "blocks"].flatMap((list) => shapes[list].filter((t) => t.x_m !== null && on([t.x_m, t.y_m], wall.thickness_m / 2 + TOUCH_M))
    .map((t) => row(list, { [ONE[list]]: t.tag, x_m: metre(t.x_m + shift[0]), y_m: metre(t.y_m + shift[1]), ...app.how() })));
  const floors = [...new Set(line.flatMap((w) => w.floors))];
  if (floors.length > 1) app.say(`This wall stands on ${floors.join(" and ")}; the rooms of the other floor stay as they are.`, true);
  return [...rows, ...wallRows(draft, app.how()), ...hung];
}

function shifted(draft, wall, line) {
  const way = unit(minus(wall.line[1], wall.line[0])), moved = minus(line[0], wall.line[0]);
  const by = moved[0] * way[0] + moved[1] * way[1];
  if (Math.abs(by) > 1e-6) {
    for (const o of draft.openings.filter((x) => sameTag(x.wall, wall.tag))) Object.assign(o, { u0_m: mm(o.u0_m - by), u1_m: mm(o.u1_m - by) });
  }
  wall.line = line;
}

/** How far a wall's line is carried on by others that begin where it ends. */
function chain(wall, line, a, b) {
  let [low, high] = [0, dist(a, b)];
  for (let grew = true; grew; ) {
    grew = false;
    for (const w of line) {
      const [u, v] = w.line.map((p) => along(p, a, b).u).sort((x, y) => x - y);
      if (u > high + TOUCH_M || v < low - TOUCH_M || (u >= low && v <= high)) continue;
      [low, high, grew] = [Math.min(low, u), Math.max(high, v), true];
    }
  }
  return [low, high];
}

/** Rows that take something away, and what has to be said with it. */
export function removeRows(app, picked) {
  const { shapes } = app, thing = thingOf(shapes, picked), gone = (list, tag) => row(list, { [ONE[list]]: tag, state: "removed", ...app.how() });
  if (!thing) return null;
  const walls = picked.list === "walls" ? [thing] : picked.list === "rooms" ? onlyOf(shapes, thing) : [];
  const openings = walls.flatMap((w) => openingsOf(shapes, w));
  const rows = [gone(picked.list, thing.tag), ...walls.filter((w) => w !== thing).map((w) => gone("walls", w.tag)), ...openings.map((o) => gone("openings", o.tag))];
  const left = picked.list !== "rooms" ? [] : ["outlets", "positions", "units", "blocks", "ends"].flatMap((list) => shapes[list].filter((t) => sameTag(t.room || "", thing.tag)).map((t) => t.tag));
  const says = left.length ? `${left.join(", ")} had their place in ${named(thing)} and are without a room now; move each into another one.` : "";
  return { rows, says };
}

/** Walls that border no other room than this one. */
function onlyOf(shapes, room) {
  const others = outlines({ ...shapes, rooms: shapes.rooms.filter((r) => r !== room) });
  const borders = (wall, outline) => outline.some((a, i) => runsAlong([a, outline[(i + 1) % outline.length]], wall.line, wall.thickness_m / 2 + TOUCH_M));
  return shapes.walls.filter((w) => room.pieces.some((o) => borders(w, o)) && !others.some((o) => borders(w, o)));
}

export class Pick {
  words = "Pick, move, rename";
  constructor() { this.clear(); }
  clear() { this.drag = null; }
  anchor() { return null; }
  says(app, p) {
    if (this.drag) return `move ${saysWhat(app.shapes, this.drag.what)} by ${dist(this.drag.from, p).toFixed(2)} m`;
    if (app.picked) return `${saysWhat(app.shapes, app.picked)}: drag or arrow keys move it, Delete takes it away`;
    return "click what is to be moved, renamed or taken away";
  }
  click(app, p, raw) { app.pick(under(app.shapes, raw, app.reach())); }
  dragged(app, from, to, done) {
    if (!this.drag) {
      const what = under(app.shapes, from, app.reach());
      if (!what || what.list === "rooms") return;
      app.pick(what);
      this.drag = { what, from, edge: edgeOf(app.shapes, what, from, app.reach()) };
    }
    if (!done) return;
    const { what, edge } = this.drag;
    this.drag = null;
    const rows = edge ? edgeRows(app, what, edge, to) : moveRows(app, what, minus(rounded(to), rounded(from)), to);
    if (rows) app.act(`move ${saysWhat(app.shapes, what)}`, rows);
  }
  typed() { return false; }
  back(app) { app.pick(null); }
  preview(app, p) {
    const wall = this.drag?.what.list === "walls" && find(app.shapes, "walls", this.drag.what.tag);
    if (wall) return stroke(path(wall.line.map((q) => plus(q, minus(p, this.drag.from)))), "next firm");
    return this.drag ? stroke(path([this.drag.from, p]), "next") : "";
  }
}

const rounded = (p) => p.map((v) => Math.round(v / 0.05) * 0.05);

/** Which end of an opening was taken hold of: its other end stays. */
function edgeOf(shapes, what, p, reach) {
  if (what.list !== "openings") return null;
  const o = thingOf(shapes, what), at = axes(find(shapes, "walls", o.wall));
  const near = [["u1_m", at(o.u0_m, 0)], ["u0_m", at(o.u1_m, 0)]].find(([, q]) => dist(p, q) <= Math.min(reach, (o.u1_m - o.u0_m) / 3));
  return near ? near[0] : null;
}

function edgeRows(app, what, stays, to) {
  const o = thingOf(app.shapes, what), wall = find(app.shapes, "walls", o.wall);
  const u = Math.round(along(to, ...wall.line).u / 0.05) * 0.05, fixed = o[stays];
  return sizedRows(app, o, (u + fixed) / 2, Math.abs(u - fixed));
}
