// The title block at the foot of the sheet: site, room, what waits.

import { items, waits } from "./listed.js";
import { waiting } from "./words.js";

const say = (id, words) => {
  const element = document.getElementById(id);
  if (element.textContent !== words) element.textContent = words;
};

/** The name of a room as it is picked or typed. */
export function roomName(place, known) {
  const room = known.rooms?.find((one) => one.tag === place);
  return room ? room.name || room.tag : place;
}

/** Fill the title block. */
export function showBlock({ rows, known, device, place }) {
  const count = items(rows).filter(waits).length;
  say("address", location.host);
  say("site-name", known.name ?? (device.site || "not paired"));
  say("room-name", roomName(place, known) || "not said");
  say("waiting-words", waiting(count));
  document.getElementById("waiting").classList.toggle("half", count > 0);
  return count;
}
