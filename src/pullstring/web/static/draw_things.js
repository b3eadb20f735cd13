// Outlets, access points, blocks and ends by one click; pathways by clicking rooms in a row.
import { along, dist, far, inside, plus, sides, tidy, times, unit, minus } from "./draw_geometry.js";
import { metres, says } from "./draw_lengths.js";
import { symbolMark, wayMark } from "./draw_marks.js";
import { find, named, roomAt, sameTag } from "./draw_plan.js";
import { metre, row } from "./draw_rows.js";

const STICKS_M = 0.8; // ours: what is clicked nearer to a wall than this hangs on it

export const FORMS = {
  outlet: { table: "outlets", words: "Outlet", height: "0.30", hangs: true },
  position: { table: "positions", words: "Access point", height: "2.40", mounts: ["ceiling", "wall", "shelf"] },
  block: { table: "blocks", words: "Block", height: "1.40", hangs: true },
  end: { table: "ends", words: "Cable end" },
}; // heights are ours, common practice; they are shown and can be changed or left blank

/** The face of the nearest wall, or of the room's own edge where there is none, towards a room; null when none is near. */
export function face(shapes, p, room) {
  const lines = shapes.walls.map((w) => ({ line: w.line, half: w.thickness_m / 2, wall: w }));
  if (room) lines.push(...room.pieces.flatMap(sides).map((line) => ({ line, half: 0, wall: null })));
  const near = lines.map((l) => ({ ...l, off: Math.max(0, far(p, ...l.line) - l.half) }))
    .sort((a, b) => a.off - b.off || b.half - a.half)[0];
  if (!near || near.off > STICKS_M) return null;
  const [a, b] = near.line, way = unit(minus(b, a)), size = dist(a, b);
  const u = Math.min(size, Math.max(0, along(p, a, b).u)), foot = plus(a, times(way, u));
  const out = [-way[1], way[0]];
  const left = room ? room.pieces.some((o) => inside(o, plus(foot, times(out, near.half + 0.05)))) : along(p, a, b).off > 0;
  return { at: plus(foot, times(out, (left ? 1 : -1) * Math.max(near.half, 0.001))), wall: near.wall, away: left ? out : times(out, -1) };
}

/** The same point well inside its room: an edge belongs to two. */
function inRoom(room, p) {
  return !room || room.pieces.some((o) => inside(o, p));
}

export class Placing {
  constructor(kind) {
    this.kind = kind;
    this.form = FORMS[kind];
    this.words = this.form.words;
    this.mount = this.form.mounts?.[0] || "";
    this.height = this.form.height || "";
  }
  clear() {}
  anchor() { return null; }
  hangs() { return this.form.hangs || this.mount === "wall"; }
  #place(app, p, raw) {
    const room = roomAt(app.shapes, raw);
    const stuck = this.hangs() && face(app.shapes, raw, room);
    return { room, at: tidy(stuck && inRoom(room, stuck.at) ? stuck.at : p), wall: stuck ? stuck.wall : null, away: stuck ? stuck.away : [0, 1] };
  }
  says(app, p, raw) {
    const { room, wall } = this.#place(app, p, raw), tag = app.shapes.next[this.kind];
    const where = room ? ` in ${named(room)}` : " outside all rooms";
    const hung = wall ? `, on wall ${wall.tag}` : "";
    const high = this.height ? `, ${says(metres(this.height) || 0)} above the floor` : "";
    const mount = this.mount ? `, on the ${this.mount} (T: elsewhere)` : "";
    return this.kind === "end" ? `${this.words.toLowerCase()} ${tag}${where}` : `${this.words.toLowerCase()} ${tag}${where}${hung}${high}${mount}`;
  }
  click(app, p, raw) {
    const { room, at, wall } = this.#place(app, p, raw), tag = app.shapes.next[this.kind];
    if (!room) app.say(`${tag} lies in no room; draw the room, then move ${tag} into it.`, true);
    if (this.kind === "end" && !room) return false;
    const placed = this.kind === "end" ? {} : { x_m: metre(at[0]), y_m: metre(at[1]) };
    const cells = { [this.kind]: tag, room: room?.tag, ...placed, mount: this.mount, wall: this.kind === "block" ? wall?.tag : "", ...app.how() };
    if (app.options.planned && this.kind !== "end") cells.state = "planned";
    const rows = [row(this.form.table, cells, true)];
    if (this.height) rows.push(row(this.form.table, { [this.kind]: tag, z_m: this.height, ...this.#heightHow(app) }));
    app.act(`${this.words.toLowerCase()} ${tag}`, rows);
    return true;
  }
  #heightHow(app) {
    return this.height === this.form.height ? { grade: "assumed", method: "common height, not measured" } : app.how();
  }
  typed(app, text) {
    if (metres(text) === null || this.kind === "end") return false;
    this.height = text;
    return true;
  }
  toggle() {
    const all = this.form.mounts || [];
    if (all.length) this.mount = all[(all.indexOf(this.mount) + 1) % all.length];
  }
  back() {}
  preview(app, p, raw) {
    const { at, away } = this.#place(app, p, raw);
    return symbolMark(this.kind, at, away, app.options.planned, app.size());
  }
}

export class Pathway {
  words = "Pathway from room to room";
  constructor() { this.clear(); }
  clear() { this.rooms = []; }
  anchor() { return null; }
  begun() { return this.rooms.length > 0; }
  says(app) {
    const names = this.rooms.map((tag) => named(find(app.shapes, "rooms", tag))).join(", ");
    return names ? `pathway by ${names}; click the next room, Enter ends it` : "click the first room of the pathway";
  }
  click(app, p, raw) {
    const room = roomAt(app.shapes, raw);
    if (!room) return app.say("A pathway goes from room to room; click inside one.", true);
    if (this.rooms.length && sameTag(this.rooms.at(-1), room.tag)) return this.enter(app);
    this.rooms.push(room.tag);
    return true;
  }
  enter(app) {
    if (this.rooms.length < 2) return app.say("A pathway leads through two rooms at least; click the next one.", true);
    const tag = app.shapes.next.pathway;
    const cells = { pathway: tag, rooms: this.rooms.join(" "), style: app.options.style, building: app.shapes.floor.building, ...app.how() };
    app.act(`pathway ${tag}`, [row("pathways", cells, true)]);
    this.clear();
    return true;
  }
  typed() { return false; }
  back() { this.rooms.pop(); }
  preview(app, p) { return wayMark(app.shapes, this.rooms, p); }
}
