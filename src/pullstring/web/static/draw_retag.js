// When somebody else took a tag meanwhile: the same rows under fresh tags, so that nothing drawn is lost.
import { TABLES, after, tagKey } from "./draw_plan.js";

const KIND_OF = { rooms: "room", floors: "floor" };

/** Fresh tags for the new things of rows, by kind and compared tag, going on from what the record gives next. */
export function freshTags(rows, next) {
  const going = { ...next }, map = {};
  for (const row of rows.filter((r) => r.new)) {
    const kind = TABLES[row.table]?.tag;
    if (!kind || !going[kind]) continue;
    map[kind] = { ...map[kind], [tagKey(row.cells[kind])]: going[kind] };
    going[kind] = after(going[kind]);
  }
  return map;
}

export function retagged(rows, map) {
  const word = (kind, text) => map[kind]?.[tagKey(text)] || text;
  return rows.map((row) => ({
    ...row,
    cells: Object.fromEntries(Object.entries(row.cells).map(([name, text]) => {
      const kind = KIND_OF[name] || name;
      if (!map[kind] || name === "name") return [name, text];
      return [name, name in KIND_OF ? text.split(" ").map((t) => word(kind, t)).join(" ") : word(kind, text)];
    })),
  }));
}
