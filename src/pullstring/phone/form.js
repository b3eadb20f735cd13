// The form of one act: its fields filled from the draft, what is typed kept as it is typed.

import { ACTS, LEVEL, actOf, isLevel, nextTag, onWhat, withUnit } from "./acts.js";
import { draftOf, keepDraft } from "./drafts.js";
import { quantityField, setUnits, tagField, valueField, wordsField } from "./fields.js";
import { recall, remember } from "./memory.js";
import { part } from "./parts.js";
import { photoPart } from "./photos.js";

/** What a form begins with when nothing was typed yet. */
function fresh(name, { known, hung, written }) {
  const act = actOf(name);
  if (onWhat(name) && ACTS[act].about) return { ...written };
  const last = recall("last", {});
  if (act === "tag") return { about: nextTag(hung, known.ends ?? [], known.next_end ?? "") };
  if (act === "reading") return { about: last.measured ?? "", quantity: last.quantity ?? "", unit: last.unit ?? "" };
  if (act === "tone") return { sent_on: last.sent_on ?? "" };
  return {};
}

/** Things of the room one is in. */
const here = (things, room) => (things ?? []).filter((one) => room && one.room === room).map((one) => one.tag);

/**
 * The form of a name. `around` holds what the laptop told (known), the room (place), the tags hung so far (hung), the fields
 * of what it is about (written), what was heard so far (heard), and ways to say something (say) and to keep (submit).
 */
export function formOf(name, around) {
  const { known, place, say, submit } = around;
  const { parts, about, words, outlets } = ACTS[actOf(name)];
  const typed = { ...fresh(name, around), ...draftOf(name) };
  const photos = parts.includes("photo") ? photoPart(name, say) : null;
  const tags = outlets ? (known.outlets ?? []).map((one) => one.tag) : actOf(name) === "tag" ? [] : (known.ends ?? []);
  const picks = outlets ? here(known.outlets, place) : [];
  const make = {
    photo: () => photos.element,
    words: () => wordsField(words, typed.words ?? "", actOf(name) === "reading" ? 1 : 2),
    about: () => tagField("about", about, typed.about ?? "", { picks, known: tags }),
    sent_on: () => tagField("sent_on", "Tone is sent on", typed.sent_on ?? "", { known: known.ends ?? [] }),
    from: () => tagField("sent_on", LEVEL.from, typed.sent_on ?? "", { picks: known.senders ?? [], known: known.senders ?? [] }),
    quantity: () => quantityField(known.quantities ?? [], typed.quantity ?? ""),
    value: () => valueField(typed.value ?? "", typed.quantity, typed.unit),
  };
  const form = part("form", { id: "act", autocomplete: "off", noValidate: true }, parts.map((one) => make[one]()));
  if (parts.includes("sent_on")) markHeard(form, around.heard);
  if (parts.includes("from")) askFor(form, typed.quantity);
  form.addEventListener("input", ({ target }) => {
    if (target.name === "sent_on") markHeard(form, around.heard);
    if (target.name === "quantity") {
      setUnits(form.elements.unit, target.value);
      askFor(form, target.value);
    }
    if (target.name) keepDraft(name, { ...typedIn(form), begun: true });
  });
  form.addEventListener("submit", (asked) => {
    asked.preventDefault();
    submit();
  });
  return { form, photos };
}

/** What a level needs beside its number, only while a level is read. */
function askFor(form, quantity) {
  const level = isLevel(quantity);
  const { sent_on: from, words, about } = form.elements;
  from.closest(".field").hidden = !level;
  const label = (field, word) => (form.querySelector(`label[for=${field.id}]`).textContent = word);
  label(words, level ? LEVEL.words : ACTS.reading.words);
  label(about, level ? LEVEL.about : ACTS.reading.about);
}

/** Beside each outlet, what was heard there of the tone that is sent now. */
function markHeard(form, heard) {
  for (const pick of form.querySelectorAll(".pick")) {
    pick.lastChild.textContent = heard(form.elements.sent_on.value.trim(), pick.dataset.tag) ?? "";
  }
}

/** What stands in a form, by name. */
export const typedIn = (form) => Object.fromEntries([...new FormData(form)].filter(([, value]) => typeof value === "string"));

/** What is kept of it: the fields of a jotting. */
export function jottingOf(name, typed, { place, heard = "", photos, written }) {
  const act = actOf(name);
  const { unit, ...rest } = typed;
  if (act === "reading" && !isLevel(typed.quantity)) delete rest.sent_on;
  const value = typed.value ? withUnit(typed.value, unit) : "";
  const made = { what: act, ...rest, value, heard, place };
  if (act === "more") {
    const words = [`more on ${onWhat(name)}`, typed.words?.trim()].filter(Boolean).join(": ");
    return { ...made, what: "note", about: written?.about ?? "", place: written?.place ?? place, words };
  }
  if (act === "note" && !typed.words?.trim() && photos.length) return { ...made, what: "photo" };
  return onWhat(name) ? { ...made, place: written?.place ?? place, heard: heard || (written?.heard ?? "") } : made;
}

/** What the next form of this kind begins with. */
export function rememberLast(name, typed) {
  const last = recall("last", {});
  const act = actOf(name);
  if (act === "reading") remember("last", { ...last, measured: typed.about, quantity: typed.quantity, unit: typed.unit });
  if (act === "tone") remember("last", { ...last, sent_on: typed.sent_on });
}
