// Picking the room one is in: once, and kept.

import { part } from "./parts.js";
import { NO_ROOMS } from "./words.js";

/** The sheet of rooms. `pick` takes the tag of a room, or words. */
export function roomSheet({ known, place }, pick) {
  const rooms = known.rooms ?? [];
  const floors = [...new Set(rooms.map((room) => room.floor ?? ""))];
  const typed = part("input", {
    id: "place", type: "text", value: rooms.some((room) => room.tag === place) ? "" : place, maxLength: 80, autocomplete: "off",
  }); // prettier-ignore
  const form = part(
    "form",
    { id: "act", onsubmit: (asked) => (asked.preventDefault(), pick(typed.value.trim())) },
    part("div", { className: "field" }, part("label", { htmlFor: "place" }, "Another place, in words"), typed),
  );
  const one = (room) =>
    part(
      "button",
      { type: "button", className: "room", "aria-pressed": String(room.tag === place), onclick: () => pick(room.tag) },
      room.name ? part("span", {}, room.name) : null,
      part("span", { className: "n" }, room.tag),
    );
  return [
    ...floors.map((floor) =>
      part(
        "section",
        { className: "floor" },
        part("h2", {}, floor ? `Floor ${floor}` : "Rooms"),
        part("div", { className: "rooms" }, rooms.filter((room) => (room.floor ?? "") === floor).map(one)),
      ),
    ),
    rooms.length ? null : part("p", { className: "quiet" }, NO_ROOMS),
    form,
  ].filter(Boolean);
}
