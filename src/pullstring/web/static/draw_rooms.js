// Rooms: by two corners, corner by corner, or one cut in two. A closing room takes the next name and makes its walls.
import { area, around, crossesItself, dist, inside, minus, plus, shared, tidy, times, unit } from "./draw_geometry.js";
import { cut, direction } from "./draw_cut.js";
import { by, lengths, says } from "./draw_lengths.js";
import { inkLine, outlineMark } from "./draw_marks.js";
import { named, onFloor, sameTag } from "./draw_plan.js";
import { outlineText, row, wallRows } from "./draw_rows.js";
import { forAct, used } from "./draw_types.js";
import { GRID_M, IN_LINE } from "./draw_snap.js";
import { Draft } from "./draw_walls.js";

const LEAST_M2 = 0.2; // ours: smaller is a slip of the hand
export const OVERLAP_M2 = 0.1; // ours: less is the width of a pencil line

/** Rows of a room that closes, among others; `kept` are changed outlines of rooms that are there already. */
export function roomRows(app, outline, kept = []) {
  const draft = new Draft(app.shapes, app.shapes.floor.tag);
  const how = app.how();
  const types = forAct(app.shapes, app.options, draft.tag, how);
  const others = onFloor(app.shapes).flatMap((r) => kept.find((k) => sameTag(k.tag, r.tag))?.pieces || r.pieces);
  draft.close(outline, others, types);
  const walls = wallRows(draft, how);
  const next = app.nextRoom();
  const cells = { room: next.tag || draft.tag("room"), name: next.tag ? "" : next.name, floor: app.shapes.floor.tag, outline: outlineText([outline]), ...how };
  const changed = kept.map((k) => row("rooms", { room: k.tag, outline: outlineText(k.pieces), ...how }));
  return [row("rooms", cells, !next.tag), ...changed, ...used(types.rows, walls), ...walls];
}

function close(app, outline, kept = [], more = () => []) {
  const corners = outline.map(tidy);
  if (area(corners) < LEAST_M2) return app.say("That is no room: it has no width. Click its other corner.", true);
  if (crossesItself(corners)) return app.say("These sides cross one another. Backspace takes the last corner back.", true);
  const name = app.nextRoom().name || "room";
  const rows = roomRows(app, corners, kept);
  app.act(`draw ${name}`, [...rows, ...more(rows[0].cells.room)]);
  const over = app.overlaps().filter((o) => o.tags.some((t) => sameTag(t, rows[0].cells.room)));
  if (over.length) app.say(over.map((o) => o.says).join(" "), true);
  return true;
}

/** Pairs of rooms that lie over one another, each with a sentence and a box. */
export function overlaps(shapes) {
  const rooms = onFloor(shapes), found = [];
  rooms.forEach((one, i) => rooms.slice(i + 1).forEach((other) => {
    for (const a of one.pieces) for (const b of other.pieces) {
      const [p, q] = [around(a), around(b)];
      if (p[0] >= q[2] || q[0] >= p[2] || p[1] >= q[3] || q[1] >= p[3]) continue;
      const common = shared(a, b);
      if (common.area > OVERLAP_M2) found.push({ tags: [one.tag, other.tag], box: common.box, says: `${named(other)} lies over ${named(one)} by ${common.area.toFixed(1)} m².` });
    }
  }));
  return found;
}

export class Rectangle {
  words = "Room by two corners";
  constructor() { this.clear(); }
  clear() { Object.assign(this, { from: null, sizes: [] }); }
  anchor() { return this.from; }
  #to(p) {
    const sign = (value) => (value < 0 ? -1 : 1);
    return [0, 1].map((i) => (this.sizes[i] ? this.from[i] + sign(p[i] - this.from[i]) * this.sizes[i] : p[i]));
  }
  #outline(p) {
    const [[x0, y0], [x1, y1]] = [this.from, this.#to(p)];
    const [l, r, b, t] = [Math.min(x0, x1), Math.max(x0, x1), Math.min(y0, y1), Math.max(y0, y1)];
    return [[l, b], [r, b], [r, t], [l, t]];
  }
  says(app, p) {
    const name = app.nextRoom().name || "the room";
    if (!this.from) return `first corner of ${name}, in the middle of the walls`;
    const to = this.#to(p);
    return `second corner of ${name}: ${by(Math.abs(to[0] - this.from[0]), Math.abs(to[1] - this.from[1]))}`;
  }
  click(app, p) {
    if (!this.from) this.from = p;
    else if (close(app, this.#outline(p))) this.clear();
  }
  typed(app, text, p) {
    const found = lengths(text);
    if (!this.from || !found.length) return false;
    this.sizes = [...this.sizes, ...found].slice(0, 2);
    if (this.sizes.length === 2) this.click(app, p);
    return true;
  }
  back() { this.clear(); }
  preview(app, p) { return this.from ? outlineMark(this.#outline(p)) : ""; }
}

export class Corners {
  words = "Room corner by corner";
  constructor() { this.clear(); }
  clear() { this.points = []; }
  anchor() { return this.points.at(-1) || null; }
  says(app, p) {
    const name = app.nextRoom().name || "the room", last = this.anchor();
    if (!last) return `first corner of ${name}, in the middle of the walls`;
    const end = this.points.length > 2 ? "; click the first corner, or Enter, to close" : "";
    return `next corner of ${name}: ${says(dist(last, p))}${end}`;
  }
  click(app, p) {
    const closes = this.points.length > 2 && dist(p, this.points[0]) <= app.reach();
    if (closes) this.enter(app);
    else if (!this.points.length || dist(p, this.anchor()) > 0.01) this.points.push(p);
  }
  typed(app, text, p) {
    const [size] = lengths(text);
    if (!this.points.length || !size) return false;
    const way = unit(minus(p, this.anchor()));
    const flat = Math.abs(way[0]) > 0.99 ? [Math.sign(way[0]), 0] : Math.abs(way[1]) > 0.99 ? [0, Math.sign(way[1])] : way;
    this.points.push(plus(this.anchor(), times(flat, size)));
    return true;
  }
  enter(app) {
    if (this.points.length < 3) return app.say("A room has three corners at least.", true);
    if (close(app, this.points)) this.clear();
    return true;
  }
  back() { this.points.pop(); }
  preview(app, p) { return this.points.length ? outlineMark([...this.points, p]) : ""; }
}

export class Cut {
  words = "Cut a room in two";
  constructor() { this.clear(); }
  clear() { Object.assign(this, { turned: false, other: false, depth: null }); }
  anchor() { return null; }
  #made(app, p) {
    const room = onFloor(app.shapes).findLast((r) => r.pieces.some((o) => inside(o, p)));
    const outline = room?.pieces.find((o) => inside(o, p));
    if (!outline) return null;
    const found = cut(outline, this.#pulled(app, outline, p), this.turned);
    if (!found) return null;
    const [mine, rest] = this.other ? [...found.parts].reverse() : found.parts;
    return { room, outline, mine, rest, line: found.line };
  }
  #pulled(app, outline, p) {
    const way = direction(outline, p, this.turned), across = [-way[1], way[0]];
    const value = (q) => q[0] * across[0] + q[1] * across[1];
    const own = outline.map(value), marks = app.targets().corners.map(value), here = value(p);
    if (this.depth) {
      const [low, high] = [Math.min(...own), Math.max(...own)];
      const at = here - low < high - here ? low + this.depth : high - this.depth;
      return plus(p, times(across, at - here));
    }
    if (app.free()) return p;
    const near = marks.filter((m) => Math.abs(m - here) <= app.reach() * IN_LINE && own.every((o) => Math.abs(o - m) > 0.05));
    const straight = Math.max(Math.abs(across[0]), Math.abs(across[1])) > 0.9999;
    const zero = straight ? 0 : own[0];
    const mark = near.length ? near.reduce((a, b) => (Math.abs(a - here) < Math.abs(b - here) ? a : b)) : zero + Math.round((here - zero) / GRID_M) * GRID_M;
    return plus(p, times(across, mark - here));
  }
  says(app, p) {
    const made = this.#made(app, p), name = app.nextRoom().name || "the new room";
    if (!made) return `point into the room from which ${name} is cut off`;
    const [x0, y0, x1, y1] = around(made.mine);
    return `cut ${name} off ${named(made.room)}: ${by(x1 - x0, y1 - y0)}; T turns the wall, F takes the other part`;
  }
  click(app, p) {
    const made = this.#made(app, p);
    if (!made) return app.say("No room is here that could be cut. Draw one around all of them first (R).", true);
    const pieces = made.room.pieces.map((o) => (o === made.outline ? made.rest.map(tidy) : o));
    if (close(app, made.mine, [{ tag: made.room.tag, pieces }], (tag) => movedRows(app, made, tag))) this.clear();
    return true;
  }
  typed(app, text, p) {
    const [size] = lengths(text);
    if (!size) return false;
    this.depth = size;
    this.click(app, p);
    this.depth = null;
    return true;
  }
  toggle() { this.turned = !this.turned; }
  flip() { this.other = !this.other; }
  back() { this.clear(); }
  preview(app, p) {
    const made = this.#made(app, p);
    return made ? outlineMark(made.mine) + inkLine(made.line) : "";
  }
}

/** Things that stand in the part which is cut off go with it. */
function movedRows(app, { room, mine }, tag) {
  return ["outlets", "positions", "units", "blocks"].flatMap((list) =>
    app.shapes[list]
      .filter((t) => sameTag(t.room || "", room.tag) && t.x_m !== null && t.y_m !== null && inside(mine, [t.x_m, t.y_m]))
      .map((t) => row(list, { [list.slice(0, -1)]: t.tag, room: tag, ...app.how() })));
}
