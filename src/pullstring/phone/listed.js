// Rows of the outbox as a person sees them: one thing for each jotting, with its photographs and its taking back.

import { OPEN } from "./outbox.js";
import { HERE, REFUSED, THERE } from "./words.js";

/** The things written, the newest first. */
export function items(rows) {
  const made = new Map();
  for (const row of rows) {
    const subject = row.entry.body.subject ?? "";
    if (subject.startsWith("jotting:")) {
      made.set(row.id, { id: row.id, tag: subject.split(":")[1], fields: row.entry.body.fields, row, photos: [], strikes: [] });
    }
  }
  const photos = new Map();
  for (const row of rows) {
    const { subject, entry } = row.entry.body;
    if (subject?.startsWith("photo:")) {
      made.get(row.leans)?.photos.push(row);
      photos.set(row.id, row.leans);
    } else if (!subject) made.get(row.leans) ? made.get(row.leans).strikes.push(row) : made.get(photos.get(entry))?.strikes.push(row);
  }
  return [...made.values()].reverse();
}

const parts = (item) => [item.row, ...item.photos, ...item.strikes];

/** Whether a thing, or a part of it, is still on this phone. */
export const waits = (item) => parts(item).some((row) => OPEN.includes(row.state));

/** The rows of a thing that are refused, or stuck behind a refused one. */
export const refused = (item) => parts(item).filter((row) => row.state === "refused");

const KIND = /\b[a-z_]+:(?=\S)/g;

/** A tag without its kind: `end:E12` is written on the thing as E12. */
export const bare = (said) => said.replace(KIND, "");

/** What a thing says, in one line. */
export function told({ fields }) {
  const measured = [fields.quantity, fields.value].filter(Boolean).join(" ").replaceAll(KIND, "");
  const heard = fields.heard ? `tone ${fields.heard}${fields.sent_on ? `, sent on ${fields.sent_on}` : ""}` : "";
  return [measured, heard, fields.words].filter(Boolean).join("; ");
}

/** By what a person knows a thing: the tag that was typed, else its own. */
export const label = (item) => bare(item.fields.about || "") || item.tag;

const plural = (count) => (count === 1 ? "photograph" : "photographs");

/** Its state: the shape to draw and the words beside it. */
export function stateOf(item) {
  const back = item.strikes.some((row) => row.state !== "left" && row.leans === item.id) ? ", taken back" : "";
  const no = refused(item);
  if (no.length) return { shape: "no", words: `${REFUSED} ${no[0].says}` };
  if (item.row.state === "left") return { shape: "no", words: `let be, not ${THERE}` };
  if (item.row.state !== "record") return { shape: "half", words: `${HERE}${back}` };
  const still = item.photos.filter((row) => OPEN.includes(row.state)).length;
  if (still) return { shape: "half", words: `${THERE}${back}, its ${plural(still)} ${HERE}` };
  if (item.strikes.some((row) => OPEN.includes(row.state))) return { shape: "half", words: `${THERE}, the taking back ${HERE}` };
  const left = item.photos.filter((row) => row.state === "left").length;
  return { shape: "full", words: `${THERE}${back}${left ? `, its ${plural(left)} let be` : ""}` };
}

/** What stands below: when, where, how many photographs. */
export function beside(item, today, nameOf) {
  const { at } = item.row.entry;
  const when = at.startsWith(today) ? at.slice(11, 16) : `${at.slice(0, 10)} ${at.slice(11, 16)}`;
  const count = item.photos.filter((row) => row.state !== "left").length;
  const pictures = count ? `${count} ${plural(count)}` : "";
  return [when, nameOf(item.fields.place ?? ""), pictures].filter(Boolean).join(", ");
}
