// What stands on each sheet: the list, the rooms, this phone, or the form of an act.

import { ACTS, actOf, onWhat } from "./acts.js";
import { roomName } from "./block.js";
import { dated } from "./clock.js";
import { formOf } from "./form.js";
import { itemOf } from "./keeping.js";
import { listOf } from "./list.js";
import { items } from "./listed.js";
import { insteadSheet, nextSheet } from "./next.js";
import { phoneSheet } from "./pairing.js";
import { roomSheet } from "./room.js";

const TITLES = { list: "Last entries", next: "Next act", instead: "Something else", rooms: "Room I am in", phone: "This phone" };

/** The name of a sheet that there is. */
export const known = (name) => (ACTS[actOf(name)] || TITLES[name] ? name : "list");

export const titleOf = (view) => TITLES[view] ?? `${ACTS[actOf(view)].word} ${onWhat(view)}`.trim();

/** The list of what is in the page now. */
export const listIn = (page, does) =>
  listOf(page.rows, { does, today: dated(page.right).slice(0, 10), nameOf: (place) => roomName(place, page.known) });

/** A sheet: its parts, and the form with its photographs where it is one. `does`: say, submit, pick, paired, and those of the list. */
export function sheetOf(view, page, does) {
  if (view === "list") return { inside: [listIn(page, does)], open: null };
  if (view === "next") return { open: null, ...nextSheet(page, { last: lastIn(page), does }) };
  if (view === "instead") return { inside: insteadSheet(), open: null };
  if (view === "rooms") return { inside: roomSheet(page, does.pick), open: null };
  if (view === "phone") return { inside: phoneSheet(page, does.paired), open: null };
  const open = formOf(view, { ...written(view, page), known: page.known, place: page.place, say: does.say, submit: does.submit });
  return { inside: [open.form], open };
}

/** The thing written last, unless it was taken back. */
function lastIn(page) {
  const [last] = items(page.rows);
  return last && !last.strikes.length && last.row.state !== "left" ? last : null;
}

/** What was written so far and a form may begin with. */
function written(view, page) {
  const standing = items(page.rows).filter((item) => !item.strikes.length);
  const at = (sent, about) => (item) => item.fields.heard && item.fields.sent_on === sent && item.fields.about === about;
  return {
    hung: standing.filter(({ fields }) => fields.what === "tag" && fields.about).map(({ fields }) => fields.about).reverse(),
    heard: (sent, about) => standing.find(at(sent, about))?.fields.heard,
    written: itemOf(page.rows, onWhat(view))?.fields,
  };
}
