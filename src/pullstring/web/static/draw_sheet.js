// The whole sheet from the shapes: picture, grid, floor below, rooms, walls, openings, things, marks.
import { boxMarks } from "./draw_boxes.js";
import { around, area, inside, spot } from "./draw_geometry.js";
import { PATTERNS, crossMark, escaped, letters, openingMark, path, stroke, symbolMark, wallMarks, wayMark } from "./draw_marks.js";
import { find, named, onFloor, openingsHere, sameTag } from "./draw_plan.js";
import { face } from "./draw_things.js";
import { readPairs, readPoints, toHouse } from "./draw_scan.js";

export const KINDS = [["outlets", "outlet"], ["blocks", "block"], ["positions", "position"], ["units", "unit"]];

/** What lies on a spot: kind, tag, place and the way off its wall. */
export function placedThings(shapes) {
  const lies = (t) => t.x_m !== null && t.x_m !== undefined && t.y_m !== null;
  const mounted = (t) => shapes.positions.some((p) => lies(p) && Math.hypot(p.x_m - t.x_m, p.y_m - t.y_m) < 0.05); // it hangs at that place
  return KINDS.flatMap(([list, kind]) => shapes[list].filter((t) => lies(t) && !(kind === "unit" && mounted(t))).map((thing) => {
    const at = [thing.x_m, thing.y_m], room = find(shapes, "rooms", thing.room || "");
    const hung = kind === "outlet" || kind === "block" ? face(shapes, at, room) : null;
    return { kind, list, thing, at: hung ? hung.at : at, away: hung ? hung.away : [0, 1] };
  }));
}

/** The picture under the drawing; until it has a scale it fills a made-up width. */
export function pictureMark(scan, lies, { width, height }, faint) {
  if (!scan?.sha256 || !width) return "";
  const m = lies ? lies.matrix : provisional({ width });
  const d = [m[0], -m[1], m[2], -m[3], m[4], -m[5]];
  return `<image href="${escaped(scan.href || `/photo/${scan.sha256}`)}" width="${width}" height="${height}" transform="matrix(${d.map((v) => v.toPrecision(12)).join(" ")})" class="picture${faint ? " faint" : ""}"/>`;
}

const MADE_UP_M = 20; // ours: how wide a picture is shown before anybody says how large it is
export const provisional = ({ width }) => [MADE_UP_M / width, 0, 0, -MADE_UP_M / width, 0, 0];

export function gridMark([x0, y0, x1, y1], step) {
  const marks = [];
  for (let x = Math.ceil(x0 / step) * step; x <= x1; x += step) marks.push(path([[x, y0], [x, y1]]));
  for (let y = Math.ceil(y0 / step) * step; y <= y1; y += step) marks.push(path([[x0, y], [x1, y]]));
  return stroke(marks.join(""), "grid");
}

const belowMark = (rooms) => rooms.map((r) => stroke(r.pieces.map((p) => path(p, true)).join(""), "below")).join("");

const TAG_PX = 8; // width of a letter of a tag on the screen

/** Boxes that things and their tags fill on the sheet. */
function takenBoxes(shapes, size, px) {
  return placedThings(shapes).map(({ kind, thing, at, away }) => {
    const to = tagAt({ kind, thing, at, away }, size, px), half = (thing.tag.length * TAG_PX * px) / 2, r = 0.3 * size;
    return around([[at[0] - r, at[1] - r], [at[0] + r, at[1] + r], [to[0] - half, to[1] - 2 * px], [to[0] + half, to[1] + 12 * px]]);
  });
}

/** Where a room's name stands: in its middle, or beside it where a thing is in the way. */
function nameSpot(room, taken, wide, px) {
  const at = spot(room.pieces[0]), dx = wide + 14 * px, dy = 34 * px;
  const clear = ([x, y]) => taken.every(([x0, y0, x1, y1]) => x + wide < x0 || x - wide > x1 || y + 18 * px < y0 || y - 16 * px > y1);
  const ways = [[0, 0], [0, 1], [0, -1], [1, 0], [-1, 0], [1, 1], [-1, 1], [1, -1], [-1, -1], [2, 0], [-2, 0]].map(([a, b]) => [at[0] + a * dx, at[1] + b * dy]);
  return ways.find((p) => clear(p) && room.pieces.some((o) => [-wide, wide].every((w) => inside(o, [p[0] + w, p[1]])))) || at;
}

function roomMarks(shapes, picked, size, px) {
  const taken = takenBoxes(shapes, size, px);
  return onFloor(shapes).map((room) => {
    const [x0, , x1] = around(room.pieces[0]);
    const covers = room.pieces.reduce((sum, p) => sum + area(p), 0), name = named(room);
    const wide = (x1 - x0) / px, long = name.length * 9 > wide - 12, tiny = wide < 46;
    const css = `room${picked("rooms", room.tag) ? " picked" : ""}`;
    const said = long ? shortened(name, wide) : [name];
    const at = nameSpot(room, taken, Math.max(...said.map((w) => w.length)) * 4.4 * px, px);
    const words = said.map((w, i) => letters(w, [at[0], at[1] + ((said.length - 1) / 2 - i) * 16 * px + 4 * px], `name${long ? " little" : ""}`)).join("");
    const areaAt = [at[0], at[1] - ((said.length - 1) / 2) * 16 * px - 13 * px];
    const outline = `<g data-room="${escaped(room.tag)}">${stroke(room.pieces.map((p) => path(p, true)).join(""), css)}</g>`;
    const ends = letters(endWords(shapes, room, wide), [areaAt[0], areaAt[1] - 18 * px], "small");
    return { outline, words: `${words}${tiny ? "" : letters(`${covers.toFixed(1)} m²`, areaAt, "area")}${ends}` };
  });
}

/** A name in several short lines. */
function shortened(name, wide) {
  const most = Math.max(4, Math.floor((wide - 8) / 7)), lines = [""];
  for (const word of name.split(" ")) {
    const longer = `${lines.at(-1)} ${word}`.trim();
    if (longer.length <= most || !lines.at(-1)) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines.slice(0, 3).map((l) => (l.length > most ? `${l.slice(0, most - 1)}…` : l));
}

function openingMarks(shapes, picked) {
  return openingsHere(shapes).map((o) => {
    const wall = find(shapes, "walls", o.wall);
    return wall ? openingMark(wall, o, picked("openings", o.tag) ? "picked" : "") : "";
  }).join("");
}

/** Where a thing's tag stands: off its wall, else under it. */
function tagAt({ kind, thing, at, away }, size, px) {
  const hangs = kind === "outlet" || kind === "block", way = hangs ? away : [0, -1];
  const reach = (kind === "outlet" ? 0.15 : 0.36) * size + 9 * px, wide = Math.abs(way[0]) * thing.tag.length * 4 * px;
  return [at[0] + way[0] * (reach + wide), at[1] + way[1] * reach - 4 * px];
}

function thingMarks(shapes, picked, size, px) {
  return placedThings(shapes).map(({ kind, list, thing, at, away }) => {
    const mark = symbolMark(kind, at, away, thing.state === "planned", size);
    const to = tagAt({ kind, thing, at, away }, size, px);
    const ring = picked(list, thing.tag) ? crossMark(at, 0.45 * size, "spot") : "";
    return `<g data-thing="${escaped(thing.tag)}">${mark}${ring}${letters(thing.tag, to, `tag${thing.state === "planned" ? " toadd" : ""}`)}</g>`;
  }).join("");
}

/** Ends have a room but no spot: they are told under the room's name, or counted where there is no space. */
function endWords(shapes, room, wide) {
  const tags = shapes.ends.filter((e) => sameTag(e.room || "", room.tag)).map((e) => e.tag);
  if (!tags.length) return "";
  const more = tags.length > 3 ? ` and ${tags.length - 3} more` : "";
  const words = `${tags.length > 1 ? "ends" : "end"} ${tags.slice(0, 3).join(" ")}${more}`;
  return words.length * 7 < wide ? words : `${tags.length} end${tags.length > 1 ? "s" : ""}`;
}

function overlapMarks(overlaps) {
  return overlaps.map(({ box: [x0, y0, x1, y1] }) =>
    stroke(`${path([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], true)}${path([[x0, y0], [x1, y1]])}${path([[x0, y1], [x1, y0]])}`, "overlap")).join("");
}

/** The clicks that place the picture: the known lengths as lines, the common points as crosses. */
function clickMarks(scan, lies, px) {
  if (!scan || !lies) return "";
  const at = (p) => toHouse(lies.matrix, p);
  const lines = [scan.scale_points, scan.cross_points].map(readPoints).filter((p) => p.length === 2).map((p) => stroke(path(p.map(at)), "known")).join("");
  return lines + readPairs(scan.common_points).map((p) => crossMark(at(p.seen), 8 * px, "known")).join("");
}

/** Everything that does not move with the pointer. */
export function sheetMarks({ shapes, below, scan, lies, image, showPicture, showClicks, picked, overlaps, boxes, box, px, size }) {
  const is = (list, tag) => picked !== null && picked.list === list && sameTag(picked.tag, tag);
  const rooms = roomMarks(shapes, is, size, px);
  const marks = [
    PATTERNS,
    showPicture ? pictureMark(scan, lies, image, onFloor(shapes).length > 0) : "",
    gridMark(box, px > 0.05 ? 5 : 1),
    belowMark(below),
    boxMarks(boxes, px),
    rooms.map((r) => r.outline).join(""),
    wallMarks(shapes),
    openingMarks(shapes, is),
    overlapMarks(overlaps),
    shapes.pathways.map((p) => wayMark(shapes, p.rooms)).join(""),
    rooms.map((r) => r.words).join(""),
    thingMarks(shapes, is, size, px),
    showClicks ? clickMarks(scan, lies, px) : "",
  ];
  return marks.join("");
}
