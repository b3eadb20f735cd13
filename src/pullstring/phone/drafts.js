// What is half typed: the words at once and as they are typed, the photographs in the database. One draft for each form.

import { got, within } from "./database.js";
import { recall, remember } from "./memory.js";

const words = (name) => `draft ${name}`;
const count = (name) => `draft photographs ${name}`;

/** The fields typed so far; null when nothing was begun. */
export const draftOf = (name) => recall(words(name), null);

/** Keep what is typed. */
export const keepDraft = (name, fields) => remember(words(name), fields);

/** How many photographs wait with a draft. */
export const draftCount = (name) => recall(count(name), 0);

/** Whether a form was begun and not kept. */
export const begun = (name) => draftCount(name) > 0 || Boolean(draftOf(name)?.begun);

/** The photographs taken so far. */
export async function draftPhotos(name) {
  const kept = await within(["drafts"], "readonly", (s) => got(s.drafts.get(name)));
  return kept?.photos ?? [];
}

/** Keep photographs with the draft; false when the phone has no room for them. */
export async function keepDraftPhotos(name, photos) {
  try {
    await within(["drafts"], "readwrite", (s) => got(photos.length ? s.drafts.put({ act: name, photos }) : s.drafts.delete(name)));
    remember(count(name), photos.length);
    return true;
  } catch {
    return false;
  }
}

/** Forget a draft: it was kept as an entry. */
export async function clearDraft(name) {
  remember(words(name), null);
  await keepDraftPhotos(name, []);
}
