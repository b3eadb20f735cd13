// The picture of a plan under the drawing: chosen, kept, laid to scale by two clicks and a length, checked crosswise, turned
// level, joined to the floor below. The record holds the clicks as they were made; how the picture lies is worked out anew.
import { dist, minus } from "./draw_geometry.js";
import { lengths, metres, says } from "./draw_lengths.js";
import { crossMark, path, stroke } from "./draw_marks.js";
import { fresh, sameTag } from "./draw_plan.js";
import { row } from "./draw_rows.js";
import { COARSE_MM, SKEWED_PERCENT, levelled, placed, readPairs, readPoints, toDots, writePairs, writePoints } from "./draw_scan.js";

export async function hashOf(bytes) {
  const found = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return Array.from(found, (b) => b.toString(16).padStart(2, "0")).join("");
}

/** Rows for a picture that is kept under its hash. */
export function pictureRows(app, file, sha256) {
  const tag = fresh(app.shapes), floor = app.shapes.floor.tag;
  const photo = tag("photo"), name = file.name.replace(/[\\/]/g, "-");
  return [
    row("photos", { photo, file: name, sha256, privacy: "site", of: `floor:${floor}`, shows: "plan of the floor", ...app.how() }, true),
    row("scans", { scan: tag("scan"), floor, photo, ...app.how() }, true),
  ];
}

/** What is to be said of how a picture lies: first the figures, then what is wrong with them. */
export function lieWords(scan, lies) {
  if (!lies) return ["Not to scale yet."];
  const said = [`${lies.mmPerDot.toFixed(1)} mm of the house per dot, turned ${lies.turnedDeg.toFixed(1)}°.`];
  const off = Math.abs(lies.percent || 0);
  if (lies.percent !== null) {
    said[0] += ` The crosswise length disagrees by ${off.toFixed(1)} %${lies.slanting ? ", but it is not crosswise to the first" : ""}.`;
    if (off > SKEWED_PERCENT) said.push("That is much. One length is wrong, or the picture was taken at a slant. It is stretched to fit both; measure a third length (M), or photograph the plan flat, from straight above.");
  }
  if (lies.mmPerDot > COARSE_MM) said.push(`That is coarse: over ${COARSE_MM} mm a wall is hardly met. A larger picture would be better.`);
  if (lies.leftOver_m.length > 1) {
    said[0] += ` ${lies.leftOver_m.length} common points miss by ${(Math.max(...lies.leftOver_m) * 1000).toFixed(0)} mm at most.`;
    if (lies.bySize !== null && Math.abs(lies.bySize) > 0.05) said.push(`They make the picture ${Math.abs(lies.bySize).toFixed(1)} % ${lies.bySize > 0 ? "larger" : "smaller"} than its length says.`);
  }
  return said;
}

/** Two clicks on the picture, and how far they are apart. */
class Known {
  constructor(name, words, after) { Object.assign(this, { name, words, after, dots: [] }); }
  /** The crosswise line begins where the first one did, unless that is taken back. */
  clear(app) {
    const first = this.name === "cross" && app?.scan() ? readPoints(app.scan().scale_points)[0] : null;
    this.dots = first ? [first] : [];
  }
  anchor() { return null; }
  begun() { return this.dots.length > (this.name === "cross" ? 1 : 0); }
  raw() { return true; }
  #line() { return this.name === "scale" ? "a line whose length you know" : "a line crosswise to the first"; }
  says(app) {
    if (!app.scan()) return "choose a picture first";
    const both = "how long is it? Type the length and Enter: 4.2 or 13 ft 9 in or 420 cm";
    const free = this.name === "cross" && this.dots.length === 1 ? "; Backspace to begin it elsewhere" : "";
    return [`one end of ${this.#line()}, as long as you can`, `the other end of ${this.#line()}${free}`, both][this.dots.length];
  }
  click(app, p) {
    if (!app.scan()) return app.say("Choose a picture of the plan first.", true);
    if (this.dots.length === 2) this.dots = [];
    this.dots.push(toDots(app.lieNow(), p));
    if (this.dots.length === 2) app.askLength();
    return true;
  }
  typed(app, text) {
    if (this.dots.length < 2) return false;
    if (!metres(text)) return false;
    if (dist(...this.dots) < 10) return app.say("These two ends are hardly apart; click them again.", true);
    const cells = { [`${this.name}_points`]: writePoints(this.dots), [`${this.name}_length_m`]: text.trim(), ...app.how() };
    app.act(`${this.words.toLowerCase()}: ${text.trim()}`, [row("scans", { scan: app.scan().tag, ...cells })]);
    this.clear();
    app.fit();
    app.lieSaid();
    app.take(this.after);
    return true;
  }
  back() { this.dots.pop(); }
  preview(app, p) {
    const at = this.dots.map((d) => app.onSheet(d)), r = app.reach();
    const line = at.length ? stroke(path([at[0], at[1] || p]), "next firm") : "";
    return line + at.map((q) => crossMark(q, r)).join("");
  }
}

export const scaleTool = () => new Known("scale", "Picture to scale", "cross");
export const crossTool = () => new Known("cross", "Check crosswise", "rectangle");

export class Level {
  words = "This line is level";
  constructor() { this.clear(); }
  clear() { this.from = null; }
  anchor() { return null; }
  begun() { return this.from !== null; }
  raw() { return true; }
  says(app) {
    if (!app.lies()) return "lay the picture to scale first (L)";
    return this.from ? "the other end of that line" : "one end of a line that is level or upright in the house";
  }
  click(app, p) {
    if (!app.lies()) return app.say("Lay the picture to scale first (L).", true);
    if (!this.from) this.from = p;
    else {
      const pairs = levelled(app.lies().matrix, this.from, p);
      app.act("turn the picture level", [row("scans", { scan: app.scan().tag, common_points: writePairs(pairs), ...app.how() })]);
      this.clear();
      app.lieSaid();
    }
    return true;
  }
  typed() { return false; }
  back() { this.clear(); }
  preview(app, p) { return this.from ? stroke(path([this.from, p]), "next firm") : ""; }
}

/** Points seen on this picture and on the floor that is shown pale. */
export class Join {
  words = "Join to the floor below";
  constructor() { this.clear(); }
  clear() { Object.assign(this, { seen: null, more: false }); }
  anchor() { return null; }
  begun() { return this.seen !== null; }
  raw() { return !this.seen; }
  says(app) {
    if (!app.scan()) return "choose a picture of this floor first";
    if (!app.below().length) return "no other floor is drawn yet to join to";
    if (this.seen) return "the same point on the pale floor, or on what is drawn here";
    return "a point of the picture that both floors share: a stair corner, a chimney";
  }
  /** Points made earlier are kept if they lie on the other floor's corners; else they only turned the picture level. */
  #before(app) {
    const pairs = readPairs(app.scan().common_points), corners = app.targets().corners;
    return this.more || pairs.every((p) => corners.some((c) => dist(c, p.at) < 0.002)) ? pairs : [];
  }
  click(app, p) {
    if (!app.scan() || !app.below().length) return app.say("This needs a picture here and another floor that is drawn.", true);
    if (!this.seen) this.seen = toDots(app.lieNow(), p);
    else {
      const pairs = [...this.#before(app), { seen: this.seen, at: p }];
      this.seen = null;
      this.more = true;
      app.act("join the floors", [row("scans", { scan: app.scan().tag, common_points: writePairs(pairs), ...app.how() })]);
      app.lieSaid();
    }
    return true;
  }
  typed() { return false; }
  back() { this.seen = null; }
  preview(app, p) {
    if (!this.seen) return "";
    const at = app.onSheet(this.seen);
    return crossMark(at, app.reach()) + stroke(path([at, p]), "next");
  }
}

export class Measure {
  words = "Measure";
  constructor() { this.clear(); }
  clear() { Object.assign(this, { from: null, to: null }); }
  anchor() { return this.from && !this.to ? this.from : null; }
  says(app, p) {
    if (!this.from) return "one end of what is to be measured";
    const [dx, dy] = minus(this.to || p, this.from);
    return `${says(dist(this.from, this.to || p))} (level ${Math.abs(dx).toFixed(2)}, upright ${Math.abs(dy).toFixed(2)})`;
  }
  click(app, p) {
    if (!this.from || this.to) Object.assign(this, { from: p, to: null });
    else this.to = p;
  }
  typed(app, text) { return lengths(text).length > 0 && app.say("Nothing is drawn while measuring; take Room (R) or another act.", true); }
  back() { this.clear(); }
  preview(app, p) { return this.from ? stroke(path([this.from, this.to || p]), "next firm") : ""; }
}

/** The picture of a floor: the last one that was laid under it. */
export const scanOf = (shapes) => shapes.scans.filter((s) => !s.floor || sameTag(s.floor, shapes.floor.tag)).at(-1) || null;
export const lieOf = (scan) => (scan ? placed(scan) : null);
