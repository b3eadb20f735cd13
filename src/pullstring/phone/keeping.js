// From a form to entries on this phone. Typed words are never lost: where a photograph has no room the words go without it,
// and where even they have none the form stays as it is.

import { actOf, onWhat } from "./acts.js";
import { got, within } from "./database.js";
import { clearDraft, keepDraft, keepDraftPhotos } from "./drafts.js";
import { jottingOf, rememberLast, typedIn } from "./form.js";
import { bare, items } from "./listed.js";
import { keep, letBe, takeBack } from "./outbox.js";
import { NO_ROOM_LEFT, keptHere } from "./words.js";

/** Keep what stands in a form; gives what is said, and of which row. Raises when the phone kept nothing. */
export async function keepForm(name, form, { photos, heard, place, item }) {
  const typed = typedIn(form);
  const taken = photos ? await photos.all() : [];
  if (actOf(name) === "back") return back(name, typed.words ?? "", item);
  const fields = jottingOf(name, typed, { place, heard, photos: taken, written: item?.fields });
  const [rows, says] = await kept(fields, taken);
  rememberLast(name, typed);
  const rewritten = onWhat(name) && actOf(name) !== "more";
  if (rewritten && item) await letBe([item.id]).catch(() => {}); // it stays in the list as refused; what is kept is kept
  await clearDraft(name);
  if (name === "tone") keepDraft(name, { sent_on: typed.sent_on ?? "" });
  const label = fields.about || rows[0].entry.body.subject.split(":")[1];
  return { says: [keptHere(label), says].filter(Boolean).join(" "), label, id: rows[0].id };
}

/** Keep the answer to an act of the walk; gives what is said, and of which row. */
export async function keepAnswer(fields, place) {
  const [row] = await keep({ ...fields, place }, []);
  const label = bare(fields.about || fields.sent_on || row.entry.body.subject);
  return { says: keptHere(label), label, id: row.id };
}

async function kept(fields, photos) {
  try {
    return [await keep(fields, photos), ""];
  } catch (error) {
    if (!photos.length) throw error;
    return [await keep(fields, []), NO_ROOM_LEFT];
  }
}

async function back(name, why, item) {
  const rows = [item.row, ...item.photos].filter((row) => row.state !== "left");
  const [first] = await takeBack(rows.map((row) => row.id), why);
  await clearDraft(name);
  const label = `The taking back of ${onWhat(name)}`;
  return { says: keptHere(label), label, id: first.id };
}

/** Make a draft of something refused, with its photographs; gives the name of its form. */
export async function draftAnew(item) {
  const { what } = item.fields;
  const name = `${what === "photo" ? "note" : what}:${item.tag}`;
  const photos = await within(["photos"], "readonly", ({ photos: held }) =>
    Promise.all(item.photos.map((row) => got(held.get(row.entry.body.fields.sha256)))),
  );
  await keepDraftPhotos(name, photos.filter(Boolean));
  return name;
}

/** The thing with a tag. */
export const itemOf = (rows, tag) => items(rows).find((item) => item.tag === tag);
