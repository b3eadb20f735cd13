// What is going on while a floor is drawn: the shapes, the act in hand, the options, the acts made so far.
import { Book } from "./draw_book.js";
import { boxAt, boxes } from "./draw_boxes.js";
import { around } from "./draw_geometry.js";
import { Join, Level, Measure, crossTool, lieOf, lieWords, scanOf, scaleTool } from "./draw_picture.js";
import { Pick, moveRows, removeRows, saysWhat } from "./draw_pick.js";
import { namesToCome } from "./draw_panel.js";
import { onFloor, sameTag, undrawn, withRows } from "./draw_plan.js";
import { Opening } from "./draw_openings.js";
import { whole } from "./draw_rows.js";
import { freshTags, retagged } from "./draw_retag.js";
import { Corners, Cut, Rectangle, overlaps } from "./draw_rooms.js";
import { provisional } from "./draw_sheet.js";
import { readPoints, toHouse } from "./draw_scan.js";
import { snap, targets } from "./draw_snap.js";
import { Pathway, Placing } from "./draw_things.js";

const REACH_PX = 10; // ours: how far a click is pulled
const NUDGE_MS = 700; // ours: arrow keys within this are one act

export const TOOLS = () => ({
  scale: ["L", scaleTool()], cross: ["V", crossTool()], level: ["G", new Level()], join: ["J", new Join()],
  rectangle: ["R", new Rectangle()], corners: ["C", new Corners()], cut: ["K", new Cut()], opening: ["D", new Opening()],
  outlet: ["O", new Placing("outlet")], position: ["A", new Placing("position")], block: ["B", new Placing("block")],
  end: ["E", new Placing("end")], pathway: ["W", new Pathway()], pick: ["Q", new Pick()], measure: ["M", new Measure()],
});

export class App {
  /** `page` shows: draw(), status(), tell(words, warns), askLength(), fit(box), gone(). */
  constructor({ site, shapes, page }) {
    Object.assign(this, { site, shapes, page, picked: null, image: { width: 0, height: 0 }, hrefs: {}, stale: false, nudged: null, alt: false, pictures: 0 });
    this.options = { outer: "begin brick, thick", inner: "begin lath and plaster", planned: false, style: "void", sure: "", names: "", chosen: null, pull: true, pale: this.#paleFirst(), showPicture: true, ...this.#kept() };
    this.tools = TOOLS();
    this.tool = "rectangle";
    this.book = new Book({
      site, floor: shapes.floor.tag,
      tell: () => page.waiting(),
      refused: (faults) => { this.stale = true; this.say(`This was not taken: ${faults.join(" ")}`, true); },
      mend: (faults, job) => this.#mend(faults, job),
      stored: () => this.stale && this.reload(),
    });
    for (const job of this.book.jobs) if (job.what === "rows") this.shapes = withRows(this.shapes, job.rows);
    if (this.book.waiting) this.stale = true;
  }

  get hand() { return this.tools[this.tool][1]; }
  #keepAt() { return `draw-options/${this.site}/${this.shapes.floor.tag}`; }
  #kept() { return JSON.parse(sessionStorage.getItem(this.#keepAt()) || "{}"); }
  keep() { sessionStorage.setItem(this.#keepAt(), JSON.stringify({ ...this.options, chosen: null })); }

  #paleFirst() {
    const { floor, floors } = this.shapes, drawn = floors.filter((f) => !sameTag(f.tag, floor.tag) && onFloor(this.shapes, f.tag).length);
    const level = (f) => f.level ?? 0, under = drawn.filter((f) => level(f) < level(floor));
    return (under.sort((a, b) => level(b) - level(a))[0] || drawn[0])?.tag || "";
  }

  // what the acts ask
  below() { return this.options.pale ? onFloor(this.shapes, this.options.pale) : []; }
  scan() { return scanOf(this.shapes); }
  lies() { return lieOf(this.scan()); }
  lieNow() { return this.lies()?.matrix || provisional({ width: this.image.width || 1 }); }
  onSheet(dots) { return toHouse(this.lieNow(), dots); }
  reach() { return REACH_PX * this.page.perDot(); }
  size() { return Math.min(2.2, Math.max(0.7, 62 * this.page.perDot())); }
  free() { return this.alt || !this.options.pull; }
  targets() { return targets(this.shapes, this.below()); }
  overlaps() { return overlaps(this.shapes); }
  how() {
    const scan = this.lies() ? this.scan() : null;
    return { grade: this.options.sure || (scan ? "told" : "assumed"), method: scan ? `drawn over the picture ${scan.tag}` : "drawn on the laptop" };
  }
  toCome() {
    const left = undrawn(this.shapes), names = namesToCome(this.shapes, this.options.names);
    const meant = (name) => left.find((r) => r.name.toLowerCase() === name.toLowerCase() || sameTag(r.tag, name));
    const listed = names.map((name) => (meant(name) ? { ...meant(name), meant: true } : { name, tag: "" }));
    const others = left.filter((r) => !listed.some((l) => l.tag && sameTag(l.tag, r.tag)));
    return [...listed, ...others.filter((r) => r.floor), ...others.filter((r) => !r.floor)];
  }
  nextRoom() {
    const all = this.toCome(), wanted = this.options.chosen;
    const free = all.find((r) => !r.tag || r.floor || r.meant); // a room of no floor only if it is asked for
    return (wanted && all.find((r) => r.name === wanted.name && r.tag === wanted.tag)) || free || { name: "", tag: "" };
  }
  chooseRoom(room) {
    this.options.chosen = { name: room.name, tag: room.tag };
    if (!["rectangle", "corners", "cut"].includes(this.tool)) this.take("rectangle");
    this.page.draw();
  }

  /** The point that is meant, and the pointer's own. */
  point(raw) {
    const hand = this.hand;
    if (hand.raw?.()) return raw;
    return snap(raw, { targets: this.targets(), reach: this.reach(), from: hand.anchor(), free: this.free() }).at;
  }

  // what a person does
  take(name) {
    this.#settle();
    this.hand.clear();
    this.tool = name;
    this.hand.clear(this);
    if (name !== "pick") this.picked = null;
    this.page.draw();
  }
  click(raw) {
    this.#settle();
    this.say("");
    const box = this.hand.anchor() ? null : boxAt(this.boxes(), raw);
    if (box && !this.hand.raw?.()) return this.chooseRoom(box);
    this.hand.click(this, this.point(raw), raw);
    return this.page.draw();
  }
  drag(from, to, done) {
    if (this.hand.dragged) this.hand.dragged(this, from, to, done);
    else if (done) {
      this.click(from);
      if (this.hand.anchor() || this.hand.dots?.length === 1) this.click(to);
    }
    if (done) this.page.draw();
  }
  typed(text, raw) {
    const taken = this.hand.typed(this, text, this.point(raw), raw);
    if (!taken) this.say(`${text} is no length that fits here; write it like 4.2 or 13 ft 9 in or 420 cm.`, true);
    this.page.draw();
    return taken;
  }
  pick(picked) {
    this.#settle();
    this.picked = picked;
    this.page.draw();
  }
  act(label, said) {
    const rows = whole(this.shapes, said);
    this.options.chosen = null;
    this.book.add(label, rows, this.shapes);
    this.shapes = withRows(this.shapes, rows);
    this.keep();
  }
  undo() {
    this.#settle();
    if (this.hand.begun?.() ?? this.hand.anchor()) return this.#back();
    const act = this.book.undo();
    if (!act) return this.say("Nothing is left to undo that was drawn on this page.");
    if (act.before) this.shapes = act.before;
    else this.stale = true;
    this.picked = null;
    this.say(`Undone: ${act.label}.`);
    return this.page.draw();
  }
  redo() {
    const act = this.book.redo();
    if (!act) return this.say("Nothing was undone that could be done again.");
    act.before = this.shapes;
    this.shapes = withRows(this.shapes, act.rows);
    this.say(`Done again: ${act.label}.`);
    return this.page.draw();
  }
  #back() {
    this.hand.back(this);
    this.page.draw();
  }
  remove() {
    if (!this.picked) return;
    const before = saysWhat(this.shapes, this.picked), last = this.book.last;
    if (last && last.rows.every((r) => Object.values(r.cells).includes(this.picked.tag)) && last.rows.some((r) => r.new)) {
      this.undo();
      return;
    }
    const made = removeRows(this, this.picked);
    this.picked = null;
    this.act(`take away ${before}`, made.rows);
    this.say(made.says || `${before} is taken away.`, Boolean(made.says));
    this.page.draw();
  }
  nudge(by) {
    const sum = this.nudged ? [this.nudged.by[0] + by[0], this.nudged.by[1] + by[1]] : by;
    const rows = moveRows(this, this.picked, sum);
    clearTimeout(this.nudged?.timer);
    this.nudged = { by: sum, rows, timer: setTimeout(() => this.#settle(), NUDGE_MS) };
    this.page.draw();
  }
  #settle() {
    const nudged = this.nudged;
    if (!nudged) return;
    clearTimeout(nudged.timer);
    this.nudged = null;
    if (nudged.rows) this.act(`move ${saysWhat(this.shapes, this.picked)}`, nudged.rows);
    this.page.draw();
  }
  shown() { return this.nudged?.rows ? withRows(this.shapes, this.nudged.rows) : this.shapes; }

  say(words, warns = false) {
    this.page.tell(words, warns);
    return !warns;
  }
  lieSaid() {
    const said = lieWords(this.scan(), this.lies());
    this.say(said.join(" "), said.length > 1);
  }
  askLength() { this.page.askLength(); }
  fit() { this.page.fit(this.extent()); }
  boxes() { return boxes(this.shapes, [...this.below().flatMap((r) => r.pieces.flat()), ...this.#picture()]); }
  /** What of the picture is of interest: the known lengths if both are known, else all of it. */
  #picture() {
    const { width, height } = this.image, known = this.#knownDots();
    const dots = known.length > 2 ? known : [[0, 0], [width, 0], [width, height], [0, height]];
    return width && this.scan() ? dots.map((p) => this.onSheet(p)) : [];
  }
  extent() {
    const picture = this.#picture();
    const drawn = [...onFloor(this.shapes).flatMap((r) => r.pieces.flat()), ...this.shapes.walls.flatMap((w) => w.line)];
    const below = drawn.length ? [] : this.below().flatMap((r) => r.pieces.flat());
    const waiting = this.boxes().flatMap(({ box }) => [box.slice(0, 2), box.slice(2)]);
    const all = [...picture, ...drawn, ...below];
    return around([...(all.length ? all : [[0, 0], [14, 8]]), ...waiting]);
  }

  /** Ends of the known lengths: they span what is of interest on the picture. */
  #knownDots() {
    const scan = this.scan();
    return scan && this.lies() ? [...readPoints(scan.scale_points), ...readPoints(scan.cross_points)] : [];
  }

  /** The record's own answer again, with what still waits laid over it. */
  async reload() {
    const answer = await fetch(`/api/shapes/${encodeURIComponent(this.shapes.floor.tag)}.json`).catch(() => null);
    if (!answer) return;
    if (answer.status === 404 || answer.status === 422) return void this.page.gone();
    if (!answer.ok) return;
    this.stale = false;
    this.shapes = await answer.json();
    for (const job of this.book.jobs) if (job.what === "rows") this.shapes = withRows(this.shapes, job.rows);
    this.page.draw();
  }
  async #mend(faults, job) {
    if (!faults.every((f) => f.includes("take another tag"))) return false;
    const answer = await fetch(`/api/shapes/${encodeURIComponent(this.shapes.floor.tag)}.json`).catch(() => null);
    if (!answer?.ok) return false;
    const now = await answer.json(), map = freshTags(this.book.jobs.flatMap((j) => j.rows || []), now.next);
    if (job !== this.book.jobs[0]) return false;
    this.book.change((rows) => retagged(rows, map));
    this.shapes = this.book.jobs.reduce((shapes, j) => (j.what === "rows" ? withRows(shapes, j.rows) : shapes), now);
    this.say("Somebody else used the next tags meanwhile; what you drew has the ones after them.");
    this.page.draw();
    return true;
  }
}
