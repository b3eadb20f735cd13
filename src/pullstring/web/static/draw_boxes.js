// Rooms that are known but not drawn yet: boxes in rows under the drawing, so that there is a plan from the first minute.
import { around } from "./draw_geometry.js";
import { escaped, letters, path, stroke } from "./draw_marks.js";
import { named, onFloor, sameTag } from "./draw_plan.js";

const WIDE_M = 3.2, HIGH_M = 1.6, APART_M = 0.25, LEAST_IN_A_ROW = 4, AWAY_M = 1.2; // ours: sizes without any meaning

/** Boxes under all that is drawn here, on the floor below, and on the picture (`points`). */
export function boxes(shapes, points) {
  const waiting = shapes.rooms.filter((r) => !r.pieces.length && sameTag(r.floor || "", shapes.floor.tag));
  const drawn = around([...onFloor(shapes).flatMap((r) => r.pieces.flat()), ...shapes.walls.flatMap((w) => w.line), ...points]);
  const [left, low, right] = drawn || [0, AWAY_M, 14];
  const inARow = Math.max(LEAST_IN_A_ROW, Math.floor((right - left + APART_M) / (WIDE_M + APART_M)));
  return waiting.map((room, i) => {
    const x = left + (i % inARow) * (WIDE_M + APART_M), y = low - AWAY_M - Math.floor(i / inARow) * (HIGH_M + APART_M);
    return { room, box: [x, y - HIGH_M, x + WIDE_M, y] };
  });
}

export const boxAt = (all, [x, y]) => all.find(({ box: [x0, y0, x1, y1] }) => x > x0 && x < x1 && y > y0 && y < y1)?.room || null;

export const boxMarks = (all, px) => all.map(({ room, box: [x0, y0, x1, y1] }) => {
  const outline = stroke(path([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], true), "box");
  const long = named(room).length * 9 * px > x1 - x0 - 0.3;
  const words = long ? `${named(room).slice(0, Math.max(3, Math.floor((x1 - x0) / (9 * px)) - 1))}…` : named(room);
  return `<g data-box="${escaped(room.tag)}">${outline}${letters(words, [(x0 + x1) / 2, (y0 + y1) / 2], "name little")}${letters("not drawn yet", [(x0 + x1) / 2, (y0 + y1) / 2 - 16 * px], "small")}</g>`;
}).join("");
